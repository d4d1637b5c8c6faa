package result

import (
	"fmt"
	"maps"
	"math"

	"linerwatch/dicomio"
)

// State is how a film is shown with outlines over it.
type State struct {
	Film          Film
	Hip           string
	Side          string        // as that of a Report
	About         string        // what the outlines are
	Of            string        // UID of the report that it goes with
	Rows, Columns int           // of the film's file
	Aspect        float64       // height of its pixels to their width
	Place         dicomio.Place // where the film as it is looked at lies in the file
	Greys         dicomio.Item  // GreysOf the film
	Marks         []Mark
	Source
}

// Mark is an outline, in pixels of the film's file, with what is written beside it.
type Mark struct {
	Outline Outline
	Text    string
}

// layer is the graphic layer of outlines and their texts.
const layer = "OUTLINES"

// GreysOf returns how a film wants its stored values shown, as a state says it. Its tables
// have entries of 16 bits, which is what a state may have (PS3.3 C.11.8): those of values
// of interest are spread over them, those of the modality stay as they are.
func GreysOf(f *dicomio.Film) dicomio.Item {
	out, voi := dicomio.Item{}, dicomio.Item{}
	switch g := f.Greys; {
	case g.Modality != nil:
		t := tableOf(*g.Modality, 1)
		t.SetText(0x00283004, "LO", "US")
		out.SetItems(0x00283000, t)
	case g.Slope != 0:
		out.SetNumbers(0x00281052, "DS", g.Intercept)
		out.SetNumbers(0x00281053, "DS", g.Slope)
		out.SetText(0x00281054, "LO", "US")
	}
	switch v := f.DefaultVOI().(type) {
	case dicomio.Window:
		voi.SetNumbers(0x00281050, "DS", v.Center)
		voi.SetNumbers(0x00281051, "DS", v.Width)
		voi.SetText(0x00281056, "CS", v.Function)
	case dicomio.Table:
		voi.SetItems(0x00283010, tableOf(v, 65535/float64(uint(1)<<v.Bits-1)))
	}
	out.SetItems(0x00283110, voi)
	shape := "IDENTITY"
	if f.Greys.Inverse || f.Photometric == "MONOCHROME1" {
		shape = "INVERSE"
	}
	out.SetText(0x20500020, "CS", shape)
	return out
}

// tableOf is a look-up table whose entries are multiplied (PS3.3 C.11.1, C.11.2).
func tableOf(t dicomio.Table, times float64) dicomio.Item {
	i := dicomio.Item{}
	vr := "US"
	if t.First < 0 {
		vr = "SS"
	}
	i.SetNumbers(0x00283002, vr, float64(len(t.Data)), float64(t.First), 16) // 65536 entries are told by 0
	data := make([]float64, len(t.Data))
	for k, v := range t.Data {
		data[k] = float64(v) * times
	}
	i.SetNumbers(0x00283006, "US", data...)
	i[0x00283006] = dicomio.Value{VR: "OW", Bytes: i[0x00283006].Bytes}
	return i
}

// Item returns the state as a data set.
func (s State) Item() (dicomio.Item, error) {
	var outlines []*Outline
	for _, m := range s.Marks {
		outlines = append(outlines, &m.Outline)
	}
	if err := check(s.Film, outlines); err != nil {
		return nil, err
	}
	if s.Place == (dicomio.Place{}) {
		s.Place.A = [2][2]float64{{1, 0}, {0, 1}}
	}
	if s.Rows < 1 || s.Columns < 1 || !(s.Aspect > 0) {
		return nil, fmt.Errorf("result: %d rows, %d columns and an aspect ratio of %g are no film", s.Rows, s.Columns, s.Aspect)
	}
	i := object(states, s.Film, s.Hip, dicomio.MadeUID("state", s.Of), s.Source)
	maps.Copy(i, s.Greys)
	sided(i, s.Side)
	i.SetText(0x00700080, "CS", layer)
	i.SetText(0x00700081, "LO", plain(s.About))
	i.SetText(0x00700084, "PN", named(s.Reader))
	series := dicomio.Item{}
	series.SetText(0x0020000E, "UI", s.Film.Series)
	series.SetItems(0x00081140, s.Film.refer())
	i.SetItems(0x00081115, series)
	i.SetItems(0x0070005A, s.area())
	if degrees, mirrored := s.Place.Turn(); degrees != 0 || mirrored {
		i.SetText(0x00700041, "CS", map[bool]string{false: "N", true: "Y"}[mirrored])
		i.SetNumbers(0x00700042, "US", float64(degrees))
	}
	top := dicomio.Item{}
	top.SetText(0x00700002, "CS", layer)
	top.SetText(0x00700062, "IS", "1")
	i.SetItems(0x00700060, top)
	i.SetItems(0x00700001, s.annotation())
	return i, nil
}

// area is the displayed area: the whole film. It is told by the pixels of the file, from 1,
// that come to the upper left and the lower right when it is upright (PS3.3 C.10.4).
func (s State) area() dicomio.Item {
	i := dicomio.Item{}
	first, last := [2]float64{1, 1}, [2]float64{float64(s.Columns), float64(s.Rows)}
	for axis, a := range s.Place.A {
		if a[0]+a[1] < 0 { // it runs to the left or upwards
			first[axis], last[axis] = last[axis], first[axis]
		}
	}
	i.SetNumbers(0x00700052, "SL", first[:]...)
	i.SetNumbers(0x00700053, "SL", last[:]...)
	i.SetText(0x00700100, "CS", "SCALE TO FIT")
	vertical, horizontal := ratio(s.Aspect)
	i.SetText(0x00700102, "IS", fmt.Sprint(vertical), fmt.Sprint(horizontal))
	return i
}

// ratio is a ratio as two whole numbers, to within 1e-4 of it.
func ratio(v float64) (a, b int) {
	for b = 1; b < 10000; b++ {
		if p := math.Round(v * float64(b)); p >= 1 && math.Abs(p/float64(b)-v) < 1e-4*v {
			return int(p), b
		}
	}
	return int(math.Round(v * 10000)), 10000
}

// annotation holds the outlines and their texts.
func (s State) annotation() dicomio.Item {
	i := dicomio.Item{}
	i.SetItems(0x00081140, s.Film.refer())
	i.SetText(0x00700002, "CS", layer)
	var texts, graphics []dicomio.Item
	for _, m := range s.Marks {
		g := dicomio.Item{}
		shape, points := m.Outline.graphic()
		g.SetText(0x00700005, "CS", "PIXEL")
		g.SetNumbers(0x00700020, "US", 2)
		g.SetNumbers(0x00700021, "US", float64(len(points)/2))
		g.SetNumbers(0x00700022, "FL", points...)
		g.SetText(0x00700023, "CS", shape)
		g.SetText(0x00700024, "CS", "N")
		graphics = append(graphics, g)
		if m.Text != "" {
			texts = append(texts, m.label(points))
		}
	}
	if texts != nil {
		i.SetItems(0x00700008, texts...)
	}
	i.SetItems(0x00700009, graphics...)
	return i
}

// label is the text of a mark, at the last of its points.
func (m Mark) label(points []float64) dicomio.Item {
	t := dicomio.Item{}
	t.SetText(0x00700004, "CS", "PIXEL")
	t.SetText(0x00700006, "ST", m.Text)
	t.SetNumbers(0x00700014, "FL", points[len(points)-2:]...)
	t.SetText(0x00700015, "CS", "N")
	return t
}
