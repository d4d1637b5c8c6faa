"""Outlines head and shell on phantom films with scikit-image and OpenCV.

    python3 .ci/circles.py DIR

DIR holds what `go run ./measure/phantom/bench -out DIR` wrote. Each way is what
a careful user of the library would write: it is given a start near the head and
the ranges of the radii, works on the part of the film near the start alone, and
ends with a least-squares fit of orthogonal distances. A way has failed where it
finds no circle, or where the head is over 1 mm or the shell over 1.5 mm off;
errors are those of the films where it has not failed.
"""
import csv
import math
import sys
import time

import cv2
import numpy as np
import skimage
from scipy.optimize import least_squares
from skimage import feature, measure, transform

cv2.setNumThreads(0)


def load(name):
    """Returns a grey map of 16 bits as shares of one."""
    with open(name, "rb") as f:
        f.readline()
        width, height = map(int, f.readline().split())
        f.readline()
        return np.frombuffer(f.read(), dtype=">u2").reshape(height, width) / 65535


def fit(points, start):
    """Returns the circle with the least orthogonal distances, robustly."""
    def off(c):
        return np.hypot(points[:, 0] - c[0], points[:, 1] - c[1]) - c[2]
    return least_squares(off, start, loss="soft_l1", f_scale=0.5).x


def settle(points, circle, reach):
    """Fits a circle to the points near it, nearer each time."""
    for r in (reach, reach / 2, reach / 2):
        d = np.abs(np.hypot(points[:, 0] - circle[0], points[:, 1] - circle[1]) - circle[2])
        if np.sum(d < r) < 20:
            return None
        circle = fit(points[d < r], circle)
    return circle


def near(points, center, least, most):
    d = np.hypot(points[:, 0] - center[0], points[:, 1] - center[1])
    return points[(d > least) & (d < most)]


def canny_points(film, sigma):
    """Returns the centres of skimage's edge pixels."""
    y, x = np.nonzero(feature.canny(film, sigma=sigma, low_threshold=0.8, high_threshold=0.95, use_quantiles=True))
    return np.column_stack((x + 0.5, y + 0.5))


def ransac(film, start, ranges, mm):
    """scikit-image: Canny, RANSAC with CircleModel, least squares."""
    points = canny_points(film, max(1.5, 0.25 / mm))
    found, center = [], start
    for least, most in ranges:
        slack = 4 / mm

        def allowed(model, *_):
            x, y, r = model.params
            return least <= r <= most and math.hypot(x - center[0], y - center[1]) < slack
        some = near(points, center, least - slack, most + slack)
        if found:
            some = near(some, found[0], found[0][2] + 2 / mm, math.inf)
        if len(some) < 20:
            return found
        model, kept = measure.ransac(some, measure.CircleModel, 3, 1.5, is_model_valid=allowed, max_trials=3000, random_state=1)
        if model is None or kept is None:
            return found
        circle = settle(some, np.array(model.params), 3.0)
        if circle is None:
            return found
        found.append(circle)
        center = circle[:2]
    return found


def hough(film, start, ranges, mm):
    """scikit-image: Canny, hough_circle on a film a quarter as wide, least squares."""
    points = canny_points(film, max(1.5, 0.25 / mm))
    k = 4
    h, w = film.shape
    small = film[:h // k * k, :w // k * k].reshape(h // k, k, w // k, k).mean(axis=(1, 3))
    edges = feature.canny(small, sigma=1, low_threshold=0.8, high_threshold=0.95, use_quantiles=True)
    found, center = [], start
    yy, xx = np.mgrid[0:small.shape[0], 0:small.shape[1]]
    for least, most in ranges:
        if found:
            least = max(least, found[0][2] + 2 / mm)
        radii = np.arange(max(3, int(least / k)), int(most / k) + 2)
        votes = transform.hough_circle(edges, radii)
        votes[:, np.hypot((xx + 0.5) * k - center[0], (yy + 0.5) * k - center[1]) > 4 / mm] = 0
        i, y, x = np.unravel_index(np.argmax(votes), votes.shape)
        circle = settle(points, np.array([(x + 0.5) * k, (y + 0.5) * k, radii[i] * k]), 1.5 * k)
        if circle is None:
            return found
        found.append(circle)
        center = circle[:2]
    return found


def opencv(film, start, ranges, mm):
    """OpenCV: HoughCircles, Canny, least squares."""
    low, high = np.quantile(film, [0.01, 0.99])
    grey = (255 * np.clip((film - low) / max(high - low, 1e-6), 0, 1)).astype(np.uint8)
    grey = cv2.GaussianBlur(grey, (0, 0), max(1.0, 0.2 / mm))
    gx, gy = cv2.Sobel(grey, cv2.CV_32F, 1, 0), cv2.Sobel(grey, cv2.CV_32F, 0, 1)
    upper = max(20.0, float(np.quantile(np.abs(gx) + np.abs(gy), 0.95)))
    y, x = np.nonzero(cv2.Canny(grey, upper / 2, upper))
    points = np.column_stack((x + 0.5, y + 0.5))
    found, center = [], start
    for least, most in ranges:
        if found:
            least = max(least, found[0][2] + 2 / mm)
        best = None
        for votes in (60, 40, 25, 15):
            circles = cv2.HoughCircles(grey, cv2.HOUGH_GRADIENT, 1, 1 / mm, param1=upper, param2=votes, minRadius=int(least), maxRadius=int(most) + 1)
            if circles is None:
                continue
            # The strongest first.
            for c in circles.reshape(-1, 3):
                if math.hypot(c[0] + 0.5 - center[0], c[1] + 0.5 - center[1]) < 4 / mm:
                    best = c.astype(float) + [0.5, 0.5, 0]
                    break
            if best is not None:
                break
        if best is None:
            return found
        circle = settle(points, best, 6.0)
        if circle is None:
            return found
        found.append(circle)
        center = circle[:2]
    return found


def window(film, start, half):
    """Returns the part of a film near the start, and its corner."""
    x0, y0 = max(0, int(start[0] - half)), max(0, int(start[1] - half))
    return film[y0:int(start[1] + half), x0:int(start[0] + half)], (x0, y0)


class Score:
    def __init__(self):
        self.films = self.failed = 0
        self.head, self.cup, self.offset, self.ms = [], [], [], []

    def add(self, head, cup, row, ms):
        mm = row["mm"]
        self.films += 1
        self.ms.append(ms)
        if head is None or cup is None:
            self.failed += 1
            return
        dh = [mm * (head[0] - row["head_x"]), mm * (head[1] - row["head_y"])]
        dc = [mm * (cup[0] - row["cup_x"]), mm * (cup[1] - row["cup_y"])]
        if math.hypot(*dh) > 1 or math.hypot(*dc) > 1.5:
            self.failed += 1
            return
        self.head += dh
        self.cup += dc
        self.offset += [dh[0] - dc[0], dh[1] - dc[1]]

    def line(self):
        def rms(v):
            return "%8.4f" % math.sqrt(sum(e * e for e in v) / len(v)) if v else "%8s" % "-"
        return "%5d %6d %s %s %s %8.0f" % (self.films, self.failed, rms(self.head), rms(self.cup), rms(self.offset), np.median(self.ms))


def main(folder):
    ways = {"scikit-image, RANSAC": ransac, "scikit-image, Hough": hough, "OpenCV": opencv}
    scores = {}
    with open(folder + "/films.csv", newline="") as f:
        rows = list(csv.DictReader(f))
    for row in rows:
        for key in row:
            if key not in ("film", "class", "part"):
                row[key] = float(row[key]) if row[key] else None
        of = lambda name: scores.setdefault((row["class"], row["part"], name), Score())
        ours = [None if row["ours_%s_x" % p] is None else (row["ours_%s_x" % p], row["ours_%s_y" % p]) for p in ("head", "cup")]
        of("here").add(ours[0], ours[1], row, row["ours_ms"])
        film = load(folder + "/" + row["film"])
        ranges = [(row["head_least"], row["head_most"]), (row["cup_least"], row["cup_most"])]
        for name, way in ways.items():
            begin = time.perf_counter()
            part, corner = window(film, (row["start_x"], row["start_y"]), row["cup_most"] + 8 / row["mm"])
            start = (row["start_x"] - corner[0], row["start_y"] - corner[1])
            found = [c + [corner[0], corner[1], 0] for c in way(part, start, ranges, row["mm"])]
            ms = 1000 * (time.perf_counter() - begin)
            found += [None] * (2 - len(found))
            of(name).add(found[0], found[1], row, ms)
    print("scikit-image %s, OpenCV %s; root mean square errors per axis, mm; median time of one film, ms" % (skimage.__version__, cv2.__version__))
    print("%-14s %-22s %5s %6s %8s %8s %8s %8s" % ("films", "way", "n", "failed", "head", "shell", "offset", "ms"))
    for (cls, part, name), score in sorted(scores.items(), key=lambda kv: (kv[0][0] != "plain", kv[0][1], kv[0][2] != "here", kv[0][2])):
        print("%-14s %-22s %s" % (cls + ", " + part, name, score.line()))


if __name__ == "__main__":
    main(sys.argv[1])
