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
	Side          string // as that of a Report
	About         string // what the outlines are
	Of            string // UID of the report that it goes with
	Rows, Columns int    // of the film's file
	Aspect        float64
	Greys         dicomio.Item // GreysOf the film's file
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

// GreysOf returns how a film wants its stored values shown, as a state says it; file is
// the data set of the film's file, which has the tables.
func GreysOf(f *dicomio.Film, file dicomio.Item) dicomio.Item {
	out, voi := dicomio.Item{}, dicomio.Item{}
	g := f.Greys
	switch {
	case g.Modality != nil:
		out[0x00283000] = file[0x00283000]
	case g.Slope != 0:
		out.SetNumbers(0x00281052, "DS", g.Intercept)
		out.SetNumbers(0x00281053, "DS", g.Slope)
		out.SetText(0x00281054, "LO", "US")
	}
	switch w, ok := f.DefaultVOI().(dicomio.Window); {
	case ok:
		voi.SetNumbers(0x00281050, "DS", w.Center)
		voi.SetNumbers(0x00281051, "DS", w.Width)
		voi.SetText(0x00281056, "CS", w.Function)
	default:
		voi[0x00283010] = file[0x00283010]
	}
	out.SetItems(0x00283110, voi)
	shape := "IDENTITY"
	if g.Inverse || f.Photometric == "MONOCHROME1" {
		shape = "INVERSE"
	}
	out.SetText(0x20500020, "CS", shape)
	return out
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
	top := dicomio.Item{}
	top.SetText(0x00700002, "CS", layer)
	top.SetText(0x00700062, "IS", "1")
	i.SetItems(0x00700060, top)
	i.SetItems(0x00700001, s.annotation())
	return i, nil
}

// area is the displayed area: the whole film. Its pixels count from 1 (PS3.3 C.10.4).
func (s State) area() dicomio.Item {
	i := dicomio.Item{}
	i.SetNumbers(0x00700052, "SL", 1, 1)
	i.SetNumbers(0x00700053, "SL", float64(s.Columns), float64(s.Rows))
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
