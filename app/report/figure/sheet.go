package figure

import (
	"math"
	"strings"

	"linerwatch/app/findings"
	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// Point is a place in a figure, points from the top-left corner.
type Point struct{ X, Y float64 }

// step is a part of a path: M to, L to, Q by c to, Z.
type step struct {
	op    byte
	c, to Point
}

type path []step

func polygon(points ...Point) path {
	return append(polyline(points...), step{op: 'Z'})
}

func polyline(points ...Point) path {
	var p path
	for i, at := range points {
		op := byte('L')
		if i == 0 {
			op = 'M'
		}
		p = append(p, step{op: op, to: at})
	}
	return p
}

// item is one thing drawn: a path that is filled, or stroked where width is above 0, or a
// text.
type item struct {
	path  path
	ink   Ink
	width float64
	dash  []float64

	text string
	at   Point // where the text begins, on its base line
	size float64
	bold bool
}

// sheet is what has been drawn.
type sheet struct {
	w, h  float64
	items []item
	faces [2]*face
	voice paper.Voice
}

func (s *sheet) stroke(ink Ink, width float64, dash []float64, points ...Point) {
	if len(points) > 1 {
		s.items = append(s.items, item{path: polyline(points...), ink: ink, width: width, dash: dash})
	}
}

func (s *sheet) fill(ink Ink, points ...Point) {
	if len(points) > 2 {
		s.items = append(s.items, item{path: polygon(points...), ink: ink})
	}
}

func (s *sheet) box(ink Ink, x, y, w, h float64) {
	s.fill(ink, Point{x, y}, Point{x + w, y}, Point{x + w, y + h}, Point{x, y + h})
}

// indent moves all that has been drawn to the right and down.
func (s *sheet) indent(by float64) {
	move := func(p Point) Point { return Point{p.X + by, p.Y + by} }
	for k := range s.items {
		i := &s.items[k]
		i.at = move(i.at)
		for j := range i.path {
			i.path[j].c, i.path[j].to = move(i.path[j].c), move(i.path[j].to)
		}
	}
}

// round returns the corners of a circle; so many that none is seen at 600 dots an inch.
func round(at Point, r float64) []Point {
	const n = 28
	var out []Point
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		out = append(out, Point{at.X + r*cos, at.Y + r*sin})
	}
	return out
}

// mark draws a point of a shape.
func (s *sheet) mark(l Look, at Point, r float64) {
	shift := func(dx, dy float64) Point { return Point{at.X + dx*r, at.Y + dy*r} }
	switch l.Mark {
	case Disc:
		s.fill(l.Ink, round(at, r)...)
	case Square:
		s.fill(l.Ink, shift(-.9, -.9), shift(.9, -.9), shift(.9, .9), shift(-.9, .9))
	case Triangle:
		s.fill(l.Ink, shift(0, -1.15), shift(1.05, .8), shift(-1.05, .8))
	case Diamond:
		s.fill(l.Ink, shift(0, -1.3), shift(1.1, 0), shift(0, 1.3), shift(-1.1, 0))
	case Ring:
		s.fill(l.Ink, round(at, r)...)
		s.fill(Ink{255, 255, 255}, round(at, r*0.55)...)
	case Cross:
		s.stroke(l.Ink, r*0.5, nil, shift(-1, -1), shift(1, 1))
		s.stroke(l.Ink, r*0.5, nil, shift(-1, 1), shift(1, -1))
	}
}

// lettering is how a text looks.
type lettering struct {
	size float64
	bold bool
	ink  Ink
}

func plain(size float64) lettering { return lettering{size: size, ink: style.Ink} }

func (s *sheet) face(bold bool) *face {
	if bold {
		return s.faces[1]
	}
	return s.faces[0]
}

func (s *sheet) width(l lettering, text string) float64 {
	return s.face(l.bold).width(clean(text)) * l.size
}

// text writes a text whose part at across (0 its beginning, 1 its end) lies at a place.
func (s *sheet) text(l lettering, at Point, across float64, text string) {
	if text = clean(text); text == "" {
		return
	}
	at.X -= across * s.width(l, text)
	s.items = append(s.items, item{text: text, at: at, size: l.size, bold: l.bold, ink: l.ink})
}

// short cuts a text to a width. A short last word stays, as it tells the two hips of a patient
// apart.
func (s *sheet) short(l lettering, text string, width float64) string {
	text = clean(text)
	if s.width(l, text) <= width {
		return text
	}
	last := text[strings.LastIndexByte(text, ' ')+1:]
	if last == text || s.width(l, last) > width/3 {
		last = ""
	} else {
		last = " " + last
	}
	r := []rune(text)
	for n := len(r) - 1; n > 0; n-- {
		if cut := string(r[:n]) + "…" + last; s.width(l, cut) <= width {
			return cut
		}
	}
	return "…"
}

// say returns the words of a key; values come as name and value.
func (s *sheet) say(key string, values ...any) string {
	v := study.Values{}
	for i := 0; i+1 < len(values); i += 2 {
		v[values[i].(string)] = values[i+1]
	}
	return s.note(study.Note{Code: key, Values: v})
}

func (s *sheet) note(n study.Note) string { return study.NoteIn(s.voice.Say, n) }

// groupWords are those of a group.
func (s *sheet) groupWords(group string) string {
	switch group {
	case "":
		return s.say("group.all")
	case findings.UnknownGroup:
		return s.say("group.unknown")
	}
	return group
}

// panels divides the sheet below top among n plots of one size, two in a row where it is wide;
// at is the upper left corner of each. No plot is taller than tallest.
func (s *sheet) panels(n int, top, tallest float64) (w, h float64, rows int, at func(i int) (left, down float64)) {
	across, gap := 1, 10.0
	if s.w > 120*mm {
		across = 2
	}
	w = (s.w - float64(across-1)*gap) / float64(across)
	rows = (n + across - 1) / across
	h = min(tallest, (style.Tallest*mm-top)/float64(rows))
	return w, h, rows, func(i int) (left, down float64) {
		return float64(i%across) * (w + gap), top + float64(i/across)*h
	}
}
