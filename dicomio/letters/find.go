package letters

import (
	"cmp"
	"image"
	"slices"
)

const (
	leastHeight = 5    // pixels of a letter
	mostHeight  = 0.1  // of the picture's height
	mostStroke  = 0.36 // of a letter's height
	mostPart    = 0.15 // of the picture: lines of letters beyond that are noise
	leastRow    = 3    // letters
	noiseRow    = 8    // letters where fewer than a fifth of many blobs like letters stand out
	manyLike    = 100  // such blobs
	mostLike    = 4000 // and as many as no lines of text are: nothing is looked for among them
	mostCrowd   = 6    // blobs in the box of a row for each of its letters
	unseen      = 8    // heights of a row that may be lost in what is as bright
	nearBorder  = 0.2  // of the picture's height or width: what is nearer than this to its border is joined apart from the middle
)

// Find returns rectangles around rows of what looks like letters, in reading order.
func Find(img *image.Gray16) (out []image.Rectangle) {
	var inner []image.Rectangle
	w, h := img.Rect.Dx(), img.Rect.Dy()
	tall := int(mostHeight * float64(min(w, h)))
	for _, g := range greysOf(img) {
		blobs := g.blobs(max(w, h) / 2)
		for _, turned := range []bool{false, true} {
			signs, least := g.signs(blobs, turned, tall)
			for _, row := range rows(signs) {
				r, long := row.box, w
				if turned {
					r, long = turn(r), h
				}
				if row.letters < least || crowd(blobs, r) > mostCrowd*row.letters {
					continue
				}
				to := &inner
				if border(r, w, h) {
					to = &out
				}
				if r = row.roomy(long); turned {
					r = turn(r)
				}
				*to = append(*to, r.Intersect(image.Rect(0, 0, w, h)))
			}
		}
	}
	large := func(r image.Rectangle) bool { return float64(r.Dx()*r.Dy()) > mostPart*float64(w*h) }
	out = slices.DeleteFunc(merged(out), large)
	// Rows in the middle, where bone is, do not draw those near the border into what is too large.
	for _, r := range slices.DeleteFunc(merged(inner), large) {
		if !slices.ContainsFunc(out, r.Overlaps) {
			out = append(out, r)
		}
	}
	inReadingOrder(out)
	for i := range out {
		out[i] = out[i].Add(img.Rect.Min)
	}
	return out
}

// sign is a letter or several that touch, in a picture turned so that they stand in a row.
type sign struct {
	box     image.Rectangle
	stroke  float64
	letters int // as many as are at least as wide as seven tenths of their height
}

// signs returns the blobs that may be letters, and how many in a row are more than
// chance: in noise a few of very many stand out.
func (g grey) signs(blobs []blob, turned bool, tall int) (out []sign, least int) {
	like := 0
	for _, b := range blobs {
		s, ok := b.sign(turned, tall)
		if !ok {
			continue
		}
		like++
		if b.inside-b.around >= max(standOut*g.spread, clearOf*b.rough) {
			out = append(out, s)
		}
	}
	switch {
	case like > mostLike:
		return nil, noiseRow
	case like > manyLike && 5*len(out) < like:
		return out, noiseRow
	}
	return out, leastRow
}

// sign returns what a blob may be by its shape; tall is the greatest height.
func (b blob) sign(turned bool, tall int) (s sign, ok bool) {
	s = sign{box: b.box, stroke: b.stroke(), letters: 1}
	runs := b.across
	if turned {
		s.box, runs = turn(b.box), b.down
	}
	w, h := s.box.Dx(), s.box.Dy()
	if h < leastHeight || h > tall || s.stroke > mostStroke*float64(h) {
		return s, false
	}
	if 2*w > 3*h { // several: a line that leans is crossed once in a row, a word often
		s.letters = 10 * w / (7 * h)
		return s, runs >= w
	}
	return s, true
}

func turn(r image.Rectangle) image.Rectangle {
	return image.Rect(r.Min.Y, r.Min.X, r.Max.Y, r.Max.X)
}

// rows joins signs that stand beside each other and returns those rows that are long
// enough.
func rows(signs []sign) (out []sign) {
	slices.SortFunc(signs, func(a, b sign) int { return a.box.Min.X - b.box.Min.X })
	row := make([]int, len(signs)) // an earlier sign of the row, or itself
	for i, s := range signs {
		row[i] = i
		for j := i - 1; j >= 0; j-- {
			if signs[j].beside(s) {
				row[first(row, i)] = first(row, j)
			}
		}
	}
	boxes, letters := map[int]image.Rectangle{}, map[int]int{}
	for i, s := range signs {
		f := first(row, i)
		boxes[f] = boxes[f].Union(s.box)
		letters[f] += s.letters
	}
	for i := range signs {
		if b := boxes[i]; letters[i] >= leastRow && b.Dx() > b.Dy() {
			out = append(out, sign{box: b, letters: letters[i]})
		}
	}
	return out
}

// roomy returns the box of a row with room for what belongs to it: dots, tails and
// signs that were too faint. A row that begins or ends near the end of the picture,
// long pixels wide, is taken to go on to it, unseen.
func (s sign) roomy(long int) image.Rectangle {
	h := s.box.Dy()
	room := (h + 1) / 2
	r := image.Rect(s.box.Min.X-2*room, s.box.Min.Y-room, s.box.Max.X+2*room, s.box.Max.Y+room)
	if r.Min.X < unseen*h {
		r.Min.X = 0
	}
	if long-r.Max.X < unseen*h {
		r.Max.X = long
	}
	return r
}

// crowd counts the blobs that stand in a box. In a row of letters there are few besides
// those; in noise, chance makes rows of the few of very many that look like letters.
func crowd(blobs []blob, r image.Rectangle) (n int) {
	for _, b := range blobs {
		if b.area > 1 && b.box.Min.Add(b.box.Max).Div(2).In(r) {
			n++
		}
	}
	return n
}

// first returns the sign that stands for the row of sign i.
func first(row []int, i int) int {
	for row[i] != i {
		row[i] = row[row[i]]
		i = row[i]
	}
	return i
}

// beside reports whether t stands in a row with s, to its right: of like height and
// stroke, level with it, and no further than a space.
func (s sign) beside(t sign) bool {
	h, k := s.box.Dy(), t.box.Dy()
	level := min(s.box.Max.Y, t.box.Max.Y) - max(s.box.Min.Y, t.box.Min.Y)
	return 10*max(h, k) <= 22*min(h, k) && 2*level >= min(h, k) &&
		2*(t.box.Min.X-s.box.Max.X) <= 5*max(h, k) && max(s.stroke, t.stroke) <= 2.5*min(s.stroke, t.stroke)
}

// border reports whether the middle of a row is near the picture's border.
func border(r image.Rectangle, w, h int) bool {
	x, y := (r.Min.X+r.Max.X)/2, (r.Min.Y+r.Max.Y)/2
	return float64(min(y, h-y)) < nearBorder*float64(h) || float64(min(x, w-x)) < nearBorder*float64(w)
}

// merged joins rectangles that overlap.
func merged(in []image.Rectangle) (out []image.Rectangle) {
	for _, r := range in {
		for i := 0; i < len(out); {
			if !out[i].Overlaps(r) {
				i++
				continue
			}
			r = r.Union(out[i])
			out = slices.Delete(out, i, i+1)
			i = 0
		}
		out = append(out, r)
	}
	inReadingOrder(out)
	return out
}

func inReadingOrder(all []image.Rectangle) {
	slices.SortFunc(all, func(a, b image.Rectangle) int {
		return cmp.Or(a.Min.Y-b.Min.Y, a.Min.X-b.Min.X)
	})
}
