package report

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"linerwatch/app/study"
)

// The figure's colours: ink on white, one blue for what is fitted, a warm grey
// for the time of bedding-in.
var (
	inkColor     = color.NRGBA{0x1f, 0x2a, 0x33, 0xff}
	paleColor    = color.NRGBA{0x6b, 0x77, 0x80, 0xff}
	gridColor    = color.NRGBA{0xe4, 0xe8, 0xea, 0xff}
	lineColor    = color.NRGBA{0x1d, 0x5f, 0x8a, 0xff}
	bandColor    = color.NRGBA{0x1d, 0x5f, 0x8a, 0x2e}
	settlingTint = color.NRGBA{0xf3, 0xee, 0xe4, 0xff}
)

// DefaultFigure is the size of a figure where none is asked for, pixels.
var DefaultFigure = image.Pt(1280, 800)

// resolution returns the dots per inch at which the letters suit a figure of
// the given width: 128 at 1280 pixels, and never too few to be read.
func resolution(width int) int { return max(88, width/10) }

// TrendPNG draws the signed penetration of a hip's films over time with 95 %
// error bars, the steady-state line with the 95 % band of its mean, and the
// time of bedding-in. size is in pixels; the zero size is DefaultFigure.
func TrendPNG(w io.Writer, t study.Trend, size image.Point) error {
	return TrendsPNG(w, []study.Trend{t}, size)
}

// TrendsPNG draws the trends of several hips beside and below one another, as
// TrendPNG draws one; size is that of one of them.
func TrendsPNG(w io.Writer, trends []study.Trend, size image.Point) error {
	if size == (image.Point{}) {
		size = DefaultFigure
	}
	if size.X < 320 || size.Y < 240 || size.X > 10000 || size.Y > 10000 {
		return fmt.Errorf("report: a figure of %d x %d pixels is outside 320 x 240 to 10000 x 10000", size.X, size.Y)
	}
	var plots []*plot.Plot
	for _, t := range trends {
		if len(t.Penetration) == 0 {
			continue
		}
		p, err := trendPlot(t)
		if err != nil {
			return err
		}
		plots = append(plots, p)
	}
	if len(plots) == 0 {
		return errors.New("report: no measured film, so no figure")
	}
	across := int(math.Ceil(math.Sqrt(float64(len(plots)))))
	down := (len(plots) + across - 1) / across
	dpi := resolution(size.X)
	width, height := inches(size.X*across, dpi), inches(size.Y*down, dpi)
	c := vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi))
	all := draw.New(c)
	foot := vg.Points(16)
	tileW, tileH := width/vg.Length(across), (height-foot)/vg.Length(down)
	for i, p := range plots {
		left, bottom := tileW*vg.Length(i%across), foot+tileH*vg.Length(down-1-i/across)
		p.Draw(draw.Crop(all, left+vg.Points(8), left+tileW-width-vg.Points(14), bottom, bottom+tileH-height-vg.Points(8)))
	}
	style := draw.TextStyle{Color: paleColor, Font: sans(7), XAlign: draw.XCenter, YAlign: draw.YBottom, Handler: plot.DefaultTextHandler}
	all.FillText(style, vg.Point{X: width / 2, Y: vg.Points(4)}, Caution)
	_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(w)
	return err
}

func inches(px, dpi int) vg.Length { return vg.Length(px) / vg.Length(dpi) * vg.Inch }

func sans(points float64) font.Font {
	return font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, vg.Points(points))
}

// trendPlot builds the plot; later plotters lie over earlier ones.
func trendPlot(t study.Trend) (*plot.Plot, error) {
	p := plot.New()
	p.Title.Text = figureTitle(t)
	p.X.Label.Text = "years since surgery"
	p.Y.Label.Text = "penetration, superior component, mm"
	dress(p)
	end := t.Penetration[len(t.Penetration)-1].Years
	end = max(end*1.04, end+0.1)
	if err := addSettling(p, t); err != nil {
		return nil, err
	}
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = gridColor, gridColor
	p.Add(grid)
	if t.Fit != nil {
		if err := addLine(p, t.Fit, end); err != nil {
			return nil, err
		}
	}
	if err := addFilms(p, t); err != nil {
		return nil, err
	}
	p.X.Min, p.X.Max = 0, end
	p.Y.Min, p.Y.Max = figureRange(t, end)
	return p, nil
}

func figureTitle(t study.Trend) string {
	name := t.Hip.Side.String() + " hip"
	if t.Hip.ID != "" {
		name = "hip " + t.Hip.Label()
	}
	if t.Fit == nil {
		return name + ": no steady-state rate"
	}
	return fmt.Sprintf("%s: steady-state rate %s mm/year", name,
		interval(t.Fit.Rate, t.Fit.Lo95, t.Fit.Hi95, t.Fit.HasInterval))
}

// dress sets the fonts and colours.
func dress(p *plot.Plot) {
	p.Title.TextStyle.Font, p.Title.TextStyle.Color = sans(12), inkColor
	p.Title.Padding = vg.Points(8)
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font, a.Label.TextStyle.Color = sans(10), inkColor
		a.Label.Padding = vg.Points(4)
		a.Tick.Label.Font, a.Tick.Label.Color = sans(9), inkColor
		a.LineStyle.Color, a.Tick.LineStyle.Color = paleColor, paleColor
		a.Tick.Marker = plot.TickerFunc(ticks)
	}
	p.Legend.Top, p.Legend.Left = true, true
	p.Legend.XOffs, p.Legend.YOffs = vg.Points(6), -vg.Points(4)
	p.Legend.Padding = vg.Points(2)
	p.Legend.TextStyle.Font, p.Legend.TextStyle.Color = sans(9), inkColor
}

// ticks returns about six labelled ticks at round values.
func ticks(lo, hi float64) []plot.Tick {
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/3)))
	for _, k := range []float64{1, 2, 5, 10} {
		if (hi-lo)/(step*k) <= 8 {
			step *= k
			break
		}
	}
	var out []plot.Tick
	decimals := max(0, -int(math.Floor(math.Log10(step))))
	for i := math.Ceil(lo / step); i*step <= hi; i++ {
		out = append(out, plot.Tick{Value: i * step, Label: column{decimals}.value(i * step)})
	}
	return out
}

// addSettling tints the time before the steady state.
func addSettling(p *plot.Plot, t study.Trend) error {
	start := t.Hip.Start()
	const far = 1e3 // mm; the axes cut it off
	area, err := plotter.NewPolygon(plotter.XYs{{X: 0, Y: -far}, {X: start, Y: -far}, {X: start, Y: far}, {X: 0, Y: far}})
	if err != nil {
		return err
	}
	area.Color = settlingTint
	area.LineStyle = draw.LineStyle{Color: gridColor, Width: vg.Points(0.8)}
	p.Add(area)
	p.Legend.Add("before "+years(start)+": bedding-in", area)
	return nil
}

// addLine draws the line from surgery on, dashed outside its films, and the
// band of its mean.
func addLine(p *plot.Plot, f *study.TrendFit, end float64) error {
	at := func(x float64) plotter.XY {
		y, _ := f.Line.Mean(x)
		return plotter.XY{X: x, Y: y}
	}
	if f.HasInterval {
		lower, upper := bandOf(f, f.StartYears, end)
		for i := len(lower) - 1; i >= 0; i-- {
			upper = append(upper, lower[i])
		}
		band, err := plotter.NewPolygon(upper)
		if err != nil {
			return err
		}
		band.Color, band.LineStyle.Width = bandColor, 0
		p.Add(band)
		p.Legend.Add("95 % band of the line", band)
	}
	line, err := plotter.NewLine(plotter.XYs{at(f.StartYears), at(end)})
	if err != nil {
		return err
	}
	line.Color, line.Width = lineColor, vg.Points(1.5)
	back, err := plotter.NewLine(plotter.XYs{at(0), at(f.StartYears)})
	if err != nil {
		return err
	}
	back.Color, back.Width, back.Dashes = lineColor, vg.Points(1), []vg.Length{vg.Points(4), vg.Points(3)}
	p.Add(line, back)
	p.Legend.Add("steady-state line, dashed back to surgery", line)
	return nil
}

// bandOf samples the band of the line's mean.
func bandOf(f *study.TrendFit, from, to float64) (lower, upper plotter.XYs) {
	const n = 64
	q := f.Line.Quantile(0.95)
	for i := range n + 1 {
		x := from + (to-from)*float64(i)/n
		y, se := f.Line.Mean(x)
		lower = append(lower, plotter.XY{X: x, Y: y - q*se})
		upper = append(upper, plotter.XY{X: x, Y: y + q*se})
	}
	return lower, upper
}

// barred are points with their errors.
type barred struct {
	plotter.XYs
	plotter.YErrors
}

// normal95 is the two-sided 95 % quantile of the normal distribution.
const normal95 = 1.959964

// addFilms draws the films, hollow where they are not in the line. The baseline
// has no error of its own.
func addFilms(p *plot.Plot, t study.Trend) error {
	var in, out plotter.XYs
	var bars barred
	for _, q := range t.Penetration {
		at := plotter.XY{X: q.Years, Y: q.Superior}
		if q.InLine {
			in = append(in, at)
		} else {
			out = append(out, at)
		}
		if se, _ := q.SE(); se > 0 {
			bars.XYs = append(bars.XYs, at)
			bars.YErrors = append(bars.YErrors, struct{ Low, High float64 }{normal95 * se, normal95 * se})
		}
	}
	if len(bars.XYs) > 0 {
		b, err := plotter.NewYErrorBars(bars)
		if err != nil {
			return err
		}
		b.Color, b.Width, b.CapWidth = inkColor, vg.Points(1), vg.Points(6)
		p.Add(b)
	}
	for _, g := range []struct {
		at    plotter.XYs
		name  string
		shape draw.GlyphDrawer
	}{{in, "film, with its 95 % reading error", draw.CircleGlyph{}}, {out, "film not in the line", draw.RingGlyph{}}} {
		if len(g.at) == 0 {
			continue
		}
		dots, err := plotter.NewScatter(g.at)
		if err != nil {
			return err
		}
		dots.GlyphStyle = draw.GlyphStyle{Color: inkColor, Radius: vg.Points(3), Shape: g.shape}
		p.Add(dots)
		p.Legend.Add(g.name, dots)
	}
	return nil
}

// figureRange returns the range of the y axis: films and line with room for the
// legend, and at least half a millimetre.
func figureRange(t study.Trend, end float64) (lo, hi float64) {
	for _, q := range t.Penetration {
		se, _ := q.SE()
		lo, hi = math.Min(lo, q.Superior-normal95*se), math.Max(hi, q.Superior+normal95*se)
	}
	if f := t.Fit; f != nil {
		y, _ := f.Line.Mean(end)
		lo, hi = math.Min(lo, math.Min(y, f.Line.Intercept)), math.Max(hi, y)
	}
	span := math.Max(hi-lo, 0.5)
	return lo - 0.06*span, lo + 1.45*span
}
