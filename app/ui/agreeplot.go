package ui

import (
	"image"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// drawAgreement draws the differences of a pair against their means, with bias and limits of
// agreement and their intervals, where there are some (Bland and Altman 1986, Lancet 327:307).
func drawAgreement(a study.StudyAgreement, pair study.AgreePair, w, h int, scale float64) *image.RGBA {
	p := newPlot()
	p.X.Label.Text, p.Y.Label.Text = say("page.agreement.mean-mm"), say("page.agreement.axis", "Of", pair.Of)
	if pair.Kind != study.BetweenReaders {
		p.Y.Label.Text = say("page.agreement.less", "Of", pair.Of)
	}
	points := make(plotter.XYs, len(pair.Mean))
	lo, hi, most := math.Inf(1), math.Inf(-1), 0.05
	for i := range points {
		points[i] = plotter.XY{X: pair.Mean[i], Y: pair.Diff[i]}
		lo, hi, most = min(lo, pair.Mean[i]), max(hi, pair.Mean[i]), max(most, math.Abs(pair.Diff[i]))
	}
	room := max(0.05, 0.06*(hi-lo))
	lo, hi = lo-room, hi+room
	if bias, lower, upper, ok := a.Limits(pair); ok {
		for _, q := range []study.Quantity{bias, lower, upper} {
			level(p, q, lo, hi)
			most = max(most, math.Abs(q.Value))
			if q.HasInterval {
				most = max(most, math.Abs(q.Interval.Lo), math.Abs(q.Interval.Hi))
			}
		}
	}
	s := &plotter.Scatter{XYs: points, GlyphStyle: draw.GlyphStyle{Color: widgets.Shift, Radius: 2.6, Shape: draw.CircleGlyph{}}}
	p.Add(s)
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = lo, hi, -1.1*most, 1.1*most
	p.X.Tick.Marker = roundTicks{max(2, w/int(90*scale)), 0.01}
	p.Y.Tick.Marker = roundTicks{max(2, h/int(60*scale)), 0.01}
	dpi := 96 * scale
	unit := vg.Length(72 / dpi)
	img := vgimg.NewWith(vgimg.UseWH(vg.Length(w)*unit, vg.Length(h)*unit), vgimg.UseDPI(int(math.Round(dpi))),
		vgimg.UseBackgroundColor(widgets.Ground))
	p.Draw(draw.Crop(draw.New(img), 6, -12, 4, -6))
	return rgba(img.Image(), w, h)
}

// level draws a value across the plot, with its interval behind it.
func level(p *plot.Plot, q study.Quantity, lo, hi float64) {
	if q.HasInterval {
		b := q.Interval
		area := &plotter.Polygon{XYs: []plotter.XYs{{{X: lo, Y: b.Lo}, {X: hi, Y: b.Lo}, {X: hi, Y: b.Hi}, {X: lo, Y: b.Hi}}}, Color: widgets.Shade}
		area.LineStyle.Width = 0
		p.Add(area)
	}
	line := &plotter.Line{XYs: plotter.XYs{{X: lo, Y: q.Value}, {X: hi, Y: q.Value}}}
	line.Color, line.Width = widgets.Muted, 0.9
	if q.Name != "bias" {
		line.Dashes = []vg.Length{vg.Points(4), vg.Points(3)}
	}
	p.Add(line)
}
