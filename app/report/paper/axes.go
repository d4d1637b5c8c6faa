package paper

import (
	"math"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

// Axes are those of a chart: what lies between X0 and X1, Y0 and Y1 is drawn in a rectangle
// of the page, with ticks at round values and letters of a size.
type Axes struct {
	X0, X1, Y0, Y1 float64
	XName, YName   string // YName stands above the axis, to be read without turning the head
	Points         float64
	Mark           string  // decimal mark; "." where empty
	XStep          float64 // between ticks; a round one where 0
	YRoom          float64 // for the labels beside the axis at least, mm, so that charts below each other agree

	sheet      *Sheet
	x, y, w, h float64 // of the area that is drawn in
}

// Axes draws axes in a rectangle and returns them.
func (s *Sheet) Axes(a Axes, x, y, w, h float64) Axes {
	st := Style{Points: a.Points, Ink: Black}
	line := s.Line(st)
	yTicks := Ticks(a.Y0, a.Y1, max(3, int(h/(2.6*line))))
	wide := a.YRoom
	for _, v := range yTicks.At {
		wide = max(wide, s.Measure(st, yTicks.Label(v, a.Mark)))
	}
	a.sheet, a.x, a.y, a.w, a.h = s, x+wide+2.5, y+line*1.5, w-wide-5, h-line*3.8
	for _, v := range yTicks.At {
		label := yTicks.Label(v, a.Mark)
		at := a.Place(a.X0, v)
		s.Stroke(Pen{Ink: Rule, MM: 0.15}, at, Point{X: a.x + a.w, Y: at.Y})
		s.Put(a.x-1.2-s.Measure(st, label), at.Y+a.Points*pointMM*0.35, st, label)
	}
	xTicks := Ticks(a.X0, a.X1, max(2, int(w/18)))
	if a.XStep > 0 {
		xTicks = every(a.X0, a.X1, a.XStep)
	}
	for _, v := range xTicks.At {
		label := xTicks.Label(v, a.Mark)
		at := a.Place(v, a.Y0)
		s.Stroke(Pen{Ink: Grey, MM: 0.2}, at, Point{X: at.X, Y: at.Y + 1})
		s.Put(at.X-s.Measure(st, label)/2, at.Y+1+line*0.85, st, label)
	}
	s.Stroke(Pen{Ink: Grey, MM: 0.25}, a.Place(a.X0, a.Y0), a.Place(a.X1, a.Y0))
	s.Put(x, y+a.Points*pointMM, st, a.YName)
	s.Put(a.x+a.w-s.Measure(st, a.XName), y+h-0.6, st, a.XName)
	return a
}

// Place returns where a value lies on the page.
func (a Axes) Place(x, y float64) Point {
	return Point{X: a.x + (x-a.X0)/(a.X1-a.X0)*a.w, Y: a.y + a.h - (y-a.Y0)/(a.Y1-a.Y0)*a.h}
}

// Within draws what may reach beyond the axes, and cuts it off there.
func (a Axes) Within(draw func()) { a.sheet.Clipped(a.x, a.y, a.w, a.h, draw) }

// Course draws a line with the band of its interval where that is told.
func (a Axes) Course(line []study.CoursePoint, band Ink, pen Pen) {
	var mean, around []Point
	for _, c := range line {
		mean = append(mean, a.Place(c.Years, c.MM))
		if c.Told {
			around = append(around, a.Place(c.Years, c.Hi))
		}
	}
	for i := len(line) - 1; i >= 0; i-- {
		if line[i].Told {
			around = append(around, a.Place(line[i].Years, line[i].Lo))
		}
	}
	if len(around) > 2 {
		a.sheet.Area(Pen{Fill: band, Solid: true}, around...)
	}
	a.sheet.Stroke(pen, mean...)
}

// Top returns the upper edge of the area.
func (a Axes) Top() float64 { return a.y }

// Scale are round values and how many decimals tell them apart.
type Scale struct {
	At       []float64
	decimals int
}

// RoundUp returns the least of 1, 2 and 5 times a power of ten that holds a positive value.
func RoundUp(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return v
	}
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if v <= ten*k*(1+1e-9) {
			return ten * k
		}
	}
	return ten * 10
}

// Ticks returns round values from lo to hi, one more than asked for at most.
func Ticks(lo, hi float64, most int) Scale {
	span := hi - lo
	if !(span > 0) || math.IsInf(span, 0) {
		return Scale{At: []float64{lo}}
	}
	step := math.Pow(10, math.Floor(math.Log10(span/float64(most))))
	for _, k := range []float64{1, 2, 5, 10} {
		if within := math.Floor(hi/(step*k)+1e-9) - math.Ceil(lo/(step*k)-1e-9); within <= float64(most) {
			step *= k
			break
		}
	}
	return every(lo, hi, step)
}

// every returns the multiples of a step from lo to hi.
func every(lo, hi, step float64) Scale {
	t := Scale{decimals: max(0, -int(math.Floor(math.Log10(step)+1e-9)))}
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+1e-9*step; i++ {
		t.At = append(t.At, i*step)
	}
	return t
}

// Label writes a value with a mark of decimals, a point where it is empty.
func (t Scale) Label(v float64, mark string) string {
	text := strconv.FormatFloat(math.Abs(v), 'f', t.decimals, 64)
	if v < 0 && strings.Trim(text, "0.") != "" {
		text = "−" + text
	}
	if mark == "" {
		return text
	}
	return strings.Replace(text, ".", mark, 1)
}
