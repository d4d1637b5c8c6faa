package ui

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// courseContent is what the trend page's chart shows.
type courseContent struct {
	Trend   study.Trend
	What    study.Component
	Model   study.Model
	Aside   []study.Penetration // films left out
	Until   float64             // year to predict to, 0 for none
	Markers bool                // rates from literature
	Current string              // ID of the film in the viewer
	Drafts  map[string]bool     // IDs of films not accepted
}

// coursePlaces are where things lie in the picture, in its pixels.
type coursePlaces struct {
	films   []plotPoint
	markers []markerPlace
}

type markerPlace struct{ rate, X, Y float64 }

// residualShare is the part of the height for the residuals.
const residualShare = 0.26

// drawCourse draws the trend above and the residuals below, on one time axis.
func drawCourse(c courseContent, w, h int, scale float64) (*image.RGBA, coursePlaces) {
	last := c.Trend.Penetration[len(c.Trend.Penetration)-1].Years
	end := max(last, c.Until, 2) * 1.04
	top, low := newPlot(), newPlot()
	top.X.Label.Text, top.Y.Label.Text = "", say("page.trend.axis", "Part", c.What.String())
	low.Y.Label.Text = say("page.trend.residual-mm")
	shade(top, min(c.Trend.Hip.Start(), end), widgets.Shade)
	band(top, c, last)
	if c.Markers {
		references(top, c, end)
	}
	addFilms(top, c.What, c.Trend.Penetration, c.Aside, c.Drafts, c.Current, 4)
	residuals(low, c)
	top.X.Min, top.X.Max, low.X.Min, low.X.Max = 0, end, 0, end
	lo, hi := min(top.Y.Min, -0.1), max(top.Y.Max, 0.6)
	top.Y.Min, top.Y.Max = lo, hi+0.05*(hi-lo)
	r := max(math.Abs(low.Y.Min), math.Abs(low.Y.Max), 0.05) * 1.15
	low.Y.Min, low.Y.Max = -r, r
	n := max(2, w/int(90*scale))
	top.X.Tick.Marker, low.X.Tick.Marker = roundTicks{n, 1}, roundTicks{n, 1}
	top.Y.Tick.Marker = roundTicks{max(2, h/int(60*scale)), 0.1}
	low.Y.Tick.Marker = roundTicks{3, 0.01}

	dpi := 96 * scale
	unit := vg.Length(72 / dpi)
	img := vgimg.NewWith(vgimg.UseWH(vg.Length(w)*unit, vg.Length(h)*unit), vgimg.UseDPI(int(math.Round(dpi))),
		vgimg.UseBackgroundColor(widgets.Ground))
	all := draw.Crop(draw.New(img), 6, -12, 4, -6)
	split := (all.Max.Y - all.Min.Y) * residualShare
	above, below := draw.Crop(all, 0, 0, split+6, 0), draw.Crop(all, 0, 0, 0, split-(all.Max.Y-all.Min.Y))
	align(&above, &below, top, low)
	top.Draw(above)
	low.Draw(below)
	return rgba(img.Image(), w, h), places(c, top, top.DataCanvas(above), unit, h, end)
}

// align makes both plots begin at the same column.
func align(above, below *draw.Canvas, top, low *plot.Plot) {
	a, b := top.DataCanvas(*above).Min.X, low.DataCanvas(*below).Min.X
	if a > b {
		below.Min.X += a - b
	} else {
		above.Min.X += b - a
	}
}

func places(c courseContent, p *plot.Plot, area draw.Canvas, unit vg.Length, h int, end float64) coursePlaces {
	tx, ty := p.Transforms(&area)
	at := func(x, y float64) (px, py float64) {
		return float64(tx(x) / unit), float64(h) - float64(ty(y)/unit)
	}
	var out coursePlaces
	for _, f := range append(append([]study.Penetration(nil), c.Trend.Penetration...), c.Aside...) {
		v, _ := f.Along(c.What)
		x, y := at(f.Years, v)
		out.films = append(out.films, plotPoint{f.Film.ID, x, y})
	}
	if c.Markers {
		for _, rate := range literature {
			if v, ok := reference(c, rate, end); ok && v < p.Y.Max {
				x, y := at(end, v)
				out.markers = append(out.markers, markerPlace{rate, x - 30, y})
			}
		}
	}
	return out
}

// shade colours the time from surgery on, over the whole height.
func shade(p *plot.Plot, until float64, tint color.Color) {
	const far = 1e3
	if poly, err := plotter.NewPolygon(plotter.XYs{{X: 0, Y: -far}, {X: until, Y: -far}, {X: until, Y: far}, {X: 0, Y: far}}); err == nil {
		poly.Color, poly.LineStyle.Width = tint, 0
		p.Add(clipped{poly})
	}
}

// clipped draws without asking for room on the axes.
type clipped struct{ *plotter.Polygon }

// DataRange implements plot.DataRanger; it asks for nothing.
func (clipped) DataRange() (xmin, xmax, ymin, ymax float64) {
	return math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
}

// Plot implements plot.Plotter.
func (s clipped) Plot(c draw.Canvas, p *plot.Plot) {
	poly := *s.Polygon
	poly.XYs = []plotter.XYs{append(plotter.XYs(nil), s.XYs[0]...)}
	for i := range poly.XYs[0] {
		q := &poly.XYs[0][i]
		q.X, q.Y = min(max(q.X, p.X.Min), p.X.Max), min(max(q.Y, p.Y.Min), p.Y.Max)
	}
	poly.Plot(c, p)
}

// band draws the model's line and the 95 % band of its mean; beyond the last film
// the line is broken.
func band(p *plot.Plot, c courseContent, last float64) {
	m := c.Model
	if !m.Fitted {
		return
	}
	from, to := min(m.From, last), max(last, c.Until)
	if !m.Steady {
		from = 0
	}
	const steps = 80
	var up, down, known, ahead plotter.XYs
	for i := range steps + 1 {
		x := from + (to-from)*float64(i)/steps
		y, lo, hi, ok := m.Mean(x)
		if ok {
			up, down = append(up, plotter.XY{X: x, Y: hi}), append(down, plotter.XY{X: x, Y: lo})
		}
		if x <= last {
			known = append(known, plotter.XY{X: x, Y: y})
		} else {
			ahead = append(ahead, plotter.XY{X: x, Y: y})
		}
	}
	for i := range down {
		up = append(up, down[len(down)-1-i])
	}
	if len(up) > 2 {
		if b, err := plotter.NewPolygon(up); err == nil {
			b.Color, b.LineStyle.Width = widgets.Band, 0
			p.Add(b)
		}
	}
	nextFilm(p, c, last)
	addLine(p, known, widgets.Accent, 1.6, nil)
	if len(ahead) > 0 {
		addLine(p, append(known[len(known)-1:len(known):len(known)], ahead...), widgets.Accent, 1.2, []vg.Length{4, 3})
	}
	if m.Steady && c.Trend.Fit != nil && c.Trend.Fit.HasBedding {
		y0, _, _, _ := m.Mean(0)
		y1, _, _, _ := m.Mean(from)
		addLine(p, plotter.XYs{{X: 0, Y: y0}, {X: from, Y: y1}}, widgets.Accent, 0.8, []vg.Length{2, 3})
	}
}

// nextFilm marks within what bounds one further film at the chosen year would
// read.
func nextFilm(p *plot.Plot, c courseContent, last float64) {
	if c.Until <= last {
		return
	}
	lo, hi, ok := c.Model.Next(c.Until)
	if !ok {
		return
	}
	y, _, _, _ := c.Model.Mean(c.Until)
	at := films{XYs: plotter.XYs{{X: c.Until, Y: y}}}
	at.YErrors = plotter.YErrors{{Low: y - lo, High: hi - y}}
	if bar, err := plotter.NewYErrorBars(at); err == nil {
		bar.Color, bar.Width, bar.CapWidth = widgets.Accent, 1.2, 10
		p.Add(bar)
	}
}

// literature lists the rates that are marked: Dumbleton JH, Manley MT, Edidin AA.
// J Arthroplasty 2002;17:649-661.
var literature = []float64{0.05, 0.1}

// reference returns where a line of the given rate from the start of the steady
// state lies at year x.
func reference(c courseContent, rate, x float64) (float64, bool) {
	if !c.Model.Fitted {
		return 0, false
	}
	from := c.Trend.Hip.Start()
	y, _, _, _ := c.Model.Mean(from)
	return y + rate*(x-from), x > from
}

// references draws the rates from literature as quiet lines.
func references(p *plot.Plot, c courseContent, end float64) {
	from := c.Trend.Hip.Start()
	for _, rate := range literature {
		y1, ok := reference(c, rate, end)
		if !ok {
			continue
		}
		y0, _ := reference(c, rate, from+1e-9)
		addLine(p, plotter.XYs{{X: from, Y: y0}, {X: end, Y: y1}}, widgets.Border, 0.7, []vg.Length{1, 3})
		l, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{{X: end, Y: y1}}, Labels: []string{say("page.trend.rate", "Rate", number(rate))}})
		if err != nil {
			continue
		}
		l.TextStyle[0].Color, l.TextStyle[0].Font.Size = widgets.Muted, 8
		l.TextStyle[0].Font.Typeface, l.TextStyle[0].Font.Variant = "Liberation", "Sans"
		l.TextStyle[0].XAlign, l.TextStyle[0].YAlign = draw.XRight, draw.YBottom
		p.Add(labels{l})
	}
}

// labels are drawn without asking for room beside the axes.
type labels struct{ l *plotter.Labels }

// Plot implements plot.Plotter.
func (l labels) Plot(c draw.Canvas, p *plot.Plot) { l.l.Plot(c, p) }

// residuals draws each film's distance from the model, over the time that the
// model describes.
func residuals(p *plot.Plot, c courseContent) {
	addLine(p, plotter.XYs{{X: 0, Y: 0}, {X: 1e3, Y: 0}}, widgets.Border, 0.8, nil)
	if !c.Model.Fitted {
		return
	}
	for _, f := range c.Trend.Penetration {
		if c.Model.Steady && !f.InLine {
			continue
		}
		v, _ := f.Along(c.What)
		y, _, _, _ := c.Model.Mean(f.Years)
		addLine(p, plotter.XYs{{X: f.Years, Y: 0}, {X: f.Years, Y: v - y}}, widgets.Muted, 0.8, nil)
		addGlyph(p, plotter.XYs{{X: f.Years, Y: v - y}}, draw.CircleGlyph{}, widgets.Shift, 3)
	}
}
