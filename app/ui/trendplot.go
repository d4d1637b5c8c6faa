package ui

import (
	"image"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// plotPoint is a film's place in the trend plot, in pixels.
type plotPoint struct {
	Film string // ID
	X, Y float64
}

// plotContent is what the trend plot shows.
type plotContent struct {
	Trend   study.Trend
	Current string              // ID of the film in the viewer
	Drafts  map[string]bool     // IDs of films not accepted: drawn hollow
	Aside   []study.Penetration // films left out: hollow diamonds
}

// drawTrend draws superior penetration against time: films with 95 % bars of
// their standard errors, the steady-state line with the 95 % band of its mean,
// and the film in the viewer ringed. It returns where the films lie.
func drawTrend(c plotContent, w, h int, scale float64) (*image.RGBA, []plotPoint) {
	p := newPlot()
	addBand(p, c.Trend)
	addFilms(p, study.Superior, c.Trend.Penetration, c.Aside, c.Drafts, c.Current, 3.4)
	widen(p)
	dpi := 96 * scale
	unit := vg.Length(72 / dpi)
	p.X.Tick.Marker = roundTicks{max(2, w/int(90*scale)), 1}
	p.Y.Tick.Marker = roundTicks{max(2, h/int(34*scale)), 0.1}
	if float64(h) < 190*scale { // a long name would squeeze the plot
		p.Y.Label.Text = "mm"
	}
	img := vgimg.NewWith(vgimg.UseWH(vg.Length(w)*unit, vg.Length(h)*unit), vgimg.UseDPI(int(math.Round(dpi))),
		vgimg.UseBackgroundColor(widgets.Ground))
	canvas := draw.New(img)
	p.Draw(draw.Crop(canvas, 6, -10, 4, -6))
	area := p.DataCanvas(draw.Crop(canvas, 6, -10, 4, -6))
	tx, ty := p.Transforms(&area)
	var points []plotPoint
	for _, f := range append(append([]study.Penetration(nil), c.Trend.Penetration...), c.Aside...) {
		x, y := tx(f.Years), ty(f.Superior)
		points = append(points, plotPoint{f.Film.ID, float64(x / unit), float64(h) - float64(y/unit)})
	}
	return rgba(img.Image(), w, h), points
}

// rgba returns img as an image.RGBA of exactly w by h.
func rgba(img image.Image, w, h int) *image.RGBA {
	if m, ok := img.(*image.RGBA); ok && m.Rect.Dx() == w && m.Rect.Dy() == h {
		return m
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			out.Set(x, y, img.At(x, y))
		}
	}
	return out
}

func newPlot() *plot.Plot {
	p := plot.New()
	p.BackgroundColor = widgets.Ground
	face := font.Font{Typeface: "Liberation", Variant: "Sans"}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Color, a.Label.TextStyle.Color = widgets.Border, widgets.Muted
		a.Tick.Color, a.Tick.Label.Color = widgets.Border, widgets.Muted
		a.Label.TextStyle.Font, a.Tick.Label.Font = face, face
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size = 9, 8.5
		a.LineStyle.Width, a.Tick.LineStyle.Width = 0.6, 0.6
		a.Padding = 2
	}
	p.X.Label.Text, p.Y.Label.Text = say("figure.years"), say("page.trend.superior-penetration-mm")
	grid := plotter.NewGrid()
	grid.Vertical.Width = 0
	grid.Horizontal.Color = widgets.Hair
	grid.Horizontal.Width = 0.5
	p.Add(grid)
	return p
}

// roundTicks marks at most n round values, no closer than least.
type roundTicks struct {
	n     int
	least float64
}

// Ticks implements plot.Ticker.
func (r roundTicks) Ticks(lo, hi float64) []plot.Tick {
	step := r.least
	for _, k := range []float64{1, 2, 5, 10, 20, 50, 100} {
		if step = r.least * k; (hi-lo)/step <= float64(r.n) {
			break
		}
	}
	var out []plot.Tick
	for i := int(math.Ceil(lo/step - 1e-9)); float64(i)*step <= hi+1e-9; i++ {
		v := float64(i) * step
		out = append(out, plot.Tick{Value: v, Label: number(math.Round(v*100) / 100)})
	}
	return out
}

// addBand draws the steady-state line from the start of the steady state to the
// last film, with the band of its mean, and back to surgery as a broken line: its
// height there is the bedding-in.
func addBand(p *plot.Plot, t study.Trend) {
	c := steadyCourse(t)
	if c.line == nil {
		return
	}
	c.addBand(p, widgets.Band)
	addLine(p, c.line, widgets.Accent, 1.4, nil)
	if t.Fit.HasBedding {
		y, _ := t.Fit.Line.Mean(0)
		addLine(p, plotter.XYs{{X: 0, Y: y}, c.line[0]}, widgets.Accent, 1, []vg.Length{3, 3})
	}
}

// steady is the line of the steady state as it is drawn, and its band as far as the
// films tell one.
type steady struct{ line, up, down plotter.XYs }

func steadyCourse(t study.Trend) (c steady) {
	for _, p := range t.SteadyCourse() {
		c.line = append(c.line, plotter.XY{X: p.Years, Y: p.MM})
		if p.Told {
			c.up, c.down = append(c.up, plotter.XY{X: p.Years, Y: p.Hi}), append(c.down, plotter.XY{X: p.Years, Y: p.Lo})
		}
	}
	return c
}

func (c steady) addBand(p *plot.Plot, tint color.Color) {
	around := slices.Clone(c.up)
	for i := range c.down {
		around = append(around, c.down[len(c.down)-1-i])
	}
	if len(around) == 0 {
		return
	}
	if b, err := plotter.NewPolygon(around); err == nil {
		b.Color, b.LineStyle.Width = tint, 0
		p.Add(b)
	}
}

func addLine(p *plot.Plot, xy plotter.XYs, c color.Color, width vg.Length, dashes []vg.Length) {
	if l, err := plotter.NewLine(xy); err == nil {
		l.Color, l.Width, l.Dashes = c, width, dashes
		p.Add(l)
	}
}

// films are the points with their error bars.
type films struct {
	plotter.XYs
	plotter.YErrors
}

// addFilms draws films with 95 % bars of their standard errors: dots, rings where
// not accepted, diamonds where left out. The film in the viewer is ringed.
func addFilms(p *plot.Plot, what study.Component, trend, aside []study.Penetration, drafts map[string]bool, current string, radius vg.Length) {
	markFilms(p, what, trend, func(id string) draw.GlyphDrawer {
		if drafts[id] {
			return draw.RingGlyph{}
		}
		return draw.CircleGlyph{}
	}, widgets.Shift, current, radius)
	markFilms(p, what, aside, func(string) draw.GlyphDrawer { return diamond{} }, widgets.Muted, current, radius)
}

func markFilms(p *plot.Plot, what study.Component, list []study.Penetration, glyph func(id string) draw.GlyphDrawer, tint color.Color, current string, radius vg.Length) {
	const z = 1.96
	var all films
	for _, f := range list {
		v, se := f.Along(what)
		all.XYs = append(all.XYs, plotter.XY{X: f.Years, Y: v})
		all.YErrors = append(all.YErrors, struct{ Low, High float64 }{z * se, z * se})
	}
	if len(all.XYs) == 0 {
		return
	}
	if bars, err := plotter.NewYErrorBars(all); err == nil {
		bars.Color, bars.Width, bars.CapWidth = widgets.Muted, 0.8, 1.5*radius
		p.Add(bars)
	}
	for i, f := range list {
		addGlyph(p, all.XYs[i:i+1], glyph(f.Film.ID), tint, radius)
		if f.Film.ID == current {
			addGlyph(p, all.XYs[i:i+1], draw.RingGlyph{}, widgets.Focus, 1.9*radius)
		}
	}
}

// diamond is a hollow glyph for films that are left out.
type diamond struct{}

// DrawGlyph implements draw.GlyphDrawer.
func (diamond) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, p vg.Point) {
	r := s.Radius * 1.3
	line := draw.LineStyle{Color: s.Color, Width: 1}
	c.StrokeLines(line, []vg.Point{{X: p.X - r, Y: p.Y}, {X: p.X, Y: p.Y + r}, {X: p.X + r, Y: p.Y}, {X: p.X, Y: p.Y - r}, {X: p.X - r, Y: p.Y}})
}

func addGlyph(p *plot.Plot, xy plotter.XYs, g draw.GlyphDrawer, c color.Color, radius vg.Length) {
	if s, err := plotter.NewScatter(xy); err == nil {
		s.GlyphStyle = draw.GlyphStyle{Color: c, Radius: radius, Shape: g}
		p.Add(s)
	}
}

// widen keeps the plot from showing noise as a trend: at least 0.7 mm is
// shown, from zero years on.
func widen(p *plot.Plot) {
	p.X.Min = 0
	p.X.Max = max(p.X.Max*1.04, 2)
	lo, hi := min(p.Y.Min, -0.1), max(p.Y.Max, 0.6)
	p.Y.Min, p.Y.Max = lo, hi+0.05*(hi-lo)
}
