// Command bench measures phantom films unattended and compares with the truth.
//
//	go run ./measure/phantom/bench -hips 60
//
// Each hip has three films: a baseline and two with the head moved into the
// liner, the patient repositioned, another side of noise. The report counts
// films on which the hip was outlined, refused or outlined wrongly, and gives
// the error of penetration per axis against the exact silhouettes, the share of
// stated 95 % intervals that contain the truth, and the time of detection. Films
// without a hip replacement must be refused.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"image"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

func main() {
	hips := flag.Int("hips", 60, "replaced hips, three films each")
	native := flag.Int("native", 12, "films without a hip replacement")
	seed := flag.Uint64("seed", 20260101, "seed of the drawn hips; tuning used others")
	wire := flag.Float64("wire", 0.25, "share of cemented cups with a wire marker")
	blind := flag.Bool("blind", false, "do not tell Detect the detector's spacing")
	verbose := flag.Bool("v", false, "print a line per film that is refused, wrong or off by more than 0.1 mm")
	flag.Parse()
	b := bench{rng: rand.New(rand.NewPCG(*seed, 1)), wire: *wire, blind: *blind, log: io.Discard}
	if *verbose {
		b.log = os.Stderr
	}
	if err := b.run(*hips, *native); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
	b.report(os.Stdout)
}

// bench collects what the films gave.
type bench struct {
	rng   *rand.Rand
	wire  float64
	blind bool
	log   io.Writer

	detected, refused, wrong, warned int
	nativeRefused, native            int
	films                            int
	spent                            time.Duration
	superior, medial                 sample // penetration
	offsetS, offsetM                 sample // offset of one film
	scale                            sample // relative
}

// sample is a set of errors with their stated standard errors.
type sample struct{ err, se []float64 }

func (s *sample) add(err, se float64) { s.err, s.se = append(s.err, err), append(s.se, se) }

func (b *bench) run(hips, native int) error {
	for i := range hips {
		if err := b.hip(i); err != nil {
			return err
		}
	}
	for range native {
		s := b.scene()
		img, err := phantom.Render(s)
		if err != nil {
			return err
		}
		b.native++
		if _, err := b.detect(img, s, 22+2*float64(b.rng.IntN(10))); err != nil {
			var refusal *measure.Refusal
			if !errors.As(err, &refusal) {
				return err
			}
			b.nativeRefused++
		}
	}
	return nil
}

// scene draws a film of some patient.
func (b *bench) scene() phantom.Scene {
	s := phantom.Default()
	s.Spacing = 0.1 + 0.1*b.rng.Float64()
	s.Width, s.Height = int(426/s.Spacing), int(355/s.Spacing)
	s.SourceHip = s.SourceImage / (1.12 + 0.1*b.rng.Float64())
	s.Patient, s.Seed = b.rng.Uint64(), b.rng.Uint64()
	s.BodyMM = 190 + 50*b.rng.Float64()
	return s
}

// draw draws a replaced hip.
func (b *bench) draw() phantom.Hip {
	heads := []float64{22, 26, 28, 30, 32, 36, 38, 40}
	h := phantom.DefaultHip([]measure.Side{measure.Right, measure.Left}[b.rng.IntN(2)])
	h.HeadMM = heads[b.rng.IntN(len(heads))]
	least := max(46, h.HeadMM+14)
	h.ShellMM = math.Round(least + (60-least)*b.rng.Float64())
	if b.rng.Float64() < b.wire {
		h.Cup = measure.Wire
		h.HeadMM = min(h.HeadMM, 32)
		h.ShellMM = math.Round(h.HeadMM + 14 + 6*b.rng.Float64())
	}
	h.Inclination = 35 + 15*b.rng.Float64()
	h.Anteversion = 5 + 20*b.rng.Float64()
	h.Screws = b.rng.IntN(3)
	h.Holes = b.rng.IntN(2) == 0
	h.Abduction = -3 + 6*b.rng.Float64()
	return h
}

// hip draws a hip, renders its three films and measures them.
func (b *bench) hip(number int) error {
	s, h := b.scene(), b.draw()
	other := b.draw()
	both := b.rng.IntN(4) == 0
	total := 2.5 * b.rng.Float64()
	sin, cos := math.Sincos((-30 + 90*b.rng.Float64()) * math.Pi / 180)
	var base, truth0 measure.Vector
	haveBase := false
	for film, part := range []float64{0, 0.4, 1} {
		h.Superior, h.Medial = total*part*cos, total*part*sin
		s.Seed = b.rng.Uint64()
		s.ShiftX, s.ShiftY = 8*b.rng.NormFloat64(), 8*b.rng.NormFloat64()
		s.Tilt, s.Rotation, s.Roll = 2*b.rng.NormFloat64(), 2*b.rng.NormFloat64(), b.rng.NormFloat64()
		s.Hips = []phantom.Hip{h}
		if both {
			other.Side, other.HeadMM = measure.Right+measure.Left-h.Side, h.HeadMM
			other.ShellMM = max(other.ShellMM, h.HeadMM+14)
			s.Hips = append(s.Hips, other)
		}
		img, err := phantom.Render(s)
		if err != nil {
			return fmt.Errorf("hip %d film %d: %w", number, film, err)
		}
		truths, err := phantom.Truths(s)
		if err != nil {
			return err
		}
		name := fmt.Sprintf("hip %d film %d, %s %g in %g mm, %.3f mm per px", number, film, h.Cup, h.HeadMM, h.ShellMM, s.Spacing)
		r, ok, err := b.measure(img, s, h, truths[0], name)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		if !haveBase {
			base, truth0, haveBase = r.Offset, truths[0].Offset, true
			continue
		}
		b.compare(r.Offset.Sub(base), truths[0].Offset.Sub(truth0), &b.superior, &b.medial, name)
	}
	return nil
}

// detect times the detection.
func (b *bench) detect(img *image.Gray16, s phantom.Scene, headMM float64) ([]measure.Hip, error) {
	opt := measure.Options{HeadMM: headMM, Spacing: s.Spacing}
	if b.blind {
		opt.Spacing = 0
	}
	start := time.Now()
	hips, err := measure.Detect(context.Background(), img, opt)
	b.spent += time.Since(start)
	b.films++
	return hips, err
}

// measure detects the hip h on a film and reads it.
func (b *bench) measure(img *image.Gray16, s phantom.Scene, h phantom.Hip, truth phantom.Truth, name string) (r measure.Reading, ok bool, err error) {
	hips, err := b.detect(img, s, h.HeadMM)
	var refusal *measure.Refusal
	if errors.As(err, &refusal) {
		b.refused++
		fmt.Fprintf(b.log, "%s: %v\n", name, err)
		return r, false, nil
	}
	if err != nil {
		return r, false, err
	}
	var found *measure.Hip
	for i := range hips {
		if hips[i].Side == h.Side {
			found = &hips[i]
		}
	}
	if found == nil {
		b.refused++
		fmt.Fprintf(b.log, "%s: only the other side\n", name)
		return r, false, nil
	}
	mm := h.HeadMM / (2 * truth.Head.R)
	off := mm * max(
		math.Hypot(found.Head.X-truth.Head.X, found.Head.Y-truth.Head.Y), math.Abs(found.Head.R-truth.Head.R),
		math.Hypot(found.Cup.X-truth.Cup.X, found.Cup.Y-truth.Cup.Y), math.Abs(found.Cup.R-truth.Cup.R))
	if len(hips) < len(s.Hips) {
		fmt.Fprintf(b.log, "%s: the other hip is missing\n", name)
	}
	if off > 1 || found.CupKind != h.Cup || len(hips) > len(s.Hips) {
		fmt.Fprintf(b.log, "%s: wrong by %.1f mm, %s, %d hips of %d, %v\n", name, off, found.CupKind, len(hips), len(s.Hips), found.Warnings)
		if len(found.Warnings) > 0 {
			b.warned++
		} else {
			b.wrong++
		}
		return r, false, nil
	}
	b.detected++
	r, err = measure.Read(found.Head.CircleFit, found.Cup.CircleFit, h.HeadMM, h.Side, 0)
	if err != nil {
		return r, false, err
	}
	b.compare(r.Offset, truth.Offset, &b.offsetS, &b.offsetM, "")
	b.scale.add(r.Scale/mm-1, r.SEScale/mm)
	return r, true, nil
}

// compare adds the errors of v against truth.
func (b *bench) compare(v, truth measure.Vector, superior, medial *sample, name string) {
	seS, seM := v.SE()
	superior.add(v.Superior-truth.Superior, seS)
	medial.add(v.Medial-truth.Medial, seM)
	if d := math.Hypot(v.Superior-truth.Superior, v.Medial-truth.Medial); d > 0.1 && name != "" {
		fmt.Fprintf(b.log, "%s: penetration off by %.3f mm, se %.3f and %.3f\n", name, d, seS, seM)
	}
}

func (b *bench) report(w io.Writer) {
	total := b.detected + b.refused + b.wrong + b.warned
	percent := func(n, of int) float64 { return 100 * float64(n) / float64(max(1, of)) }
	fmt.Fprintf(w, "films with a hip replacement  %d\n", total)
	fmt.Fprintf(w, "  outlined                    %d (%.1f %%)\n", b.detected, percent(b.detected, total))
	fmt.Fprintf(w, "  refused                     %d\n", b.refused)
	fmt.Fprintf(w, "  wrong, with a warning       %d\n", b.warned)
	fmt.Fprintf(w, "  wrong, without              %d\n", b.wrong)
	fmt.Fprintf(w, "films without, refused        %d of %d\n", b.nativeRefused, b.native)
	fmt.Fprintf(w, "detection                     %.0f ms per film\n\n", b.spent.Seconds()*1000/float64(max(1, b.films)))
	fmt.Fprintf(w, "%-24s %5s %9s %9s %9s %9s %9s\n", "error, mm", "n", "bias", "sd", "rmse", "largest", "in 95 %")
	b.superior.print(w, "penetration, superior")
	b.medial.print(w, "penetration, medial")
	b.offsetS.print(w, "offset, superior")
	b.offsetM.print(w, "offset, medial")
	b.scale.print(w, "scale, relative")
}

func (s sample) print(w io.Writer, name string) {
	n := float64(len(s.err))
	if n == 0 {
		fmt.Fprintf(w, "%-24s     0\n", name)
		return
	}
	var sum, squares, largest float64
	inside := 0
	for i, e := range s.err {
		sum += e
		squares += e * e
		largest = max(largest, math.Abs(e))
		if math.Abs(e) <= 1.96*s.se[i] {
			inside++
		}
	}
	bias := sum / n
	sd := math.Sqrt(max(0, squares/n-bias*bias))
	fmt.Fprintf(w, "%-24s %5.0f %9.4f %9.4f %9.4f %9.4f %7.1f %%\n",
		name, n, bias, sd, math.Sqrt(squares/n), largest, 100*float64(inside)/n)
}
