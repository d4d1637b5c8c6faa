package ui

import (
	"image"
	"image/color"
	"math"
	"strconv"

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
	Current string          // ID of the film in the viewer
	Drafts  map[string]bool // IDs of films not accepted: drawn hollow
}

// drawTrend draws superior penetration against time: films with 95 % bars of
// their standard errors, the steady-state line with the 95 % band of its mean,
// and the film in the viewer ringed. It returns where the films lie.
func drawTrend(c plotContent, w, h int, scale float64) (*image.RGBA, []plotPoint) {
	p := newPlot()
	addBand(p, c.Trend)
	addFilms(p, c)
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
	for _, f := range c.Trend.Penetration {
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
	p.X.Label.Text, p.Y.Label.Text = "years since surgery", "superior penetration, mm"
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
		out = append(out, plot.Tick{Value: v, Label: strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)})
	}
	return out
}

// addBand draws the steady-state line from the start of the steady state to the
// last film, and back to surgery as a broken line: its height there is the
// bedding-in.
func addBand(p *plot.Plot, t study.Trend) {
	if t.Fit == nil || len(t.Penetration) == 0 {
		return
	}
	fit := t.Fit
	last := t.Penetration[len(t.Penetration)-1].Years
	from := min(fit.StartYears, last)
	if fit.HasInterval && fit.Line.DF > 0 {
		const steps = 40
		q := fit.Line.Quantile(0.95)
		up, down := make(plotter.XYs, 0, 2*steps+2), make(plotter.XYs, 0, steps+1)
		for i := range steps + 1 {
			x := from + (last-from)*float64(i)/steps
			y, se := fit.Line.Mean(x)
			up = append(up, plotter.XY{X: x, Y: y + q*se})
			down = append(down, plotter.XY{X: x, Y: y - q*se})
		}
		for i := range down {
			up = append(up, down[len(down)-1-i])
		}
		if band, err := plotter.NewPolygon(up); err == nil {
			band.Color = color.RGBA{0x24, 0x3f, 0x3d, 0xff}
			band.LineStyle.Width = 0
			p.Add(band)
		}
	}
	at := func(x float64) plotter.XY { y, _ := fit.Line.Mean(x); return plotter.XY{X: x, Y: y} }
	addLine(p, plotter.XYs{at(from), at(last)}, widgets.Accent, 1.4, nil)
	if fit.HasBedding {
		addLine(p, plotter.XYs{at(0), at(from)}, widgets.Accent, 1, []vg.Length{3, 3})
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

func addFilms(p *plot.Plot, c plotContent) {
	const z = 1.96
	var all films
	for _, f := range c.Trend.Penetration {
		sup, _ := f.SE()
		all.XYs = append(all.XYs, plotter.XY{X: f.Years, Y: f.Superior})
		all.YErrors = append(all.YErrors, struct{ Low, High float64 }{z * sup, z * sup})
	}
	if len(all.XYs) == 0 {
		return
	}
	if bars, err := plotter.NewYErrorBars(all); err == nil {
		bars.Color, bars.Width, bars.CapWidth = widgets.Muted, 0.8, 5
		p.Add(bars)
	}
	for i, f := range c.Trend.Penetration {
		one := all.XYs[i : i+1]
		var glyph draw.GlyphDrawer = draw.CircleGlyph{}
		if c.Drafts[f.Film.ID] {
			glyph = draw.RingGlyph{}
		}
		addGlyph(p, one, glyph, widgets.Shift, 3.4)
		if f.Film.ID == c.Current {
			addGlyph(p, one, draw.RingGlyph{}, widgets.Focus, 6.5)
		}
	}
	widen(p)
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
