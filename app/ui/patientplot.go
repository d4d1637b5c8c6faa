package ui

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"linerwatch/app/report/patient"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

var paperColors = map[fyne.ThemeColorName]color.Color{
	theme.ColorNameBackground:          widgets.Paper,
	theme.ColorNameButton:              widgets.Panel,
	theme.ColorNameInputBackground:     widgets.Panel,
	theme.ColorNameInputBorder:         widgets.Rule,
	theme.ColorNameForeground:          widgets.Ink,
	theme.ColorNamePrimary:             widgets.Teal,
	theme.ColorNameForegroundOnPrimary: widgets.Paper,
	theme.ColorNameFocus:               widgets.Tint,
	theme.ColorNameHover:               color.RGBA{0, 0, 0, 0x10},
	theme.ColorNameScrollBar:           widgets.Rule,
	theme.ColorNameSeparator:           widgets.Rule,
}

// Color implements fyne.Theme.
func (t paperTheme) Color(name fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	if c, ok := paperColors[name]; ok {
		return c
	}
	return t.Theme.Color(name, v)
}

// Size implements fyne.Theme: large enough for two in front of one screen.
func (t paperTheme) Size(name fyne.ThemeSizeName) float32 {
	switch name {
	case theme.SizeNameText:
		return 17 * t.grown
	case theme.SizeNameSubHeadingText:
		return 21 * t.grown
	case theme.SizeNameHeadingText:
		return 26 * t.grown
	case theme.SizeNameCaptionText:
		return 14 * t.grown
	case theme.SizeNameInlineIcon: // that of a check, as high as its words
		return 22 * t.grown
	}
	return t.Theme.Size(name)
}

// drawPlain draws the course for a lay reader: dots for films, a line for the pace
// and a broad band for how exactly it is known.
func drawPlain(t study.Trend, words patient.Page, w, h int, scale float64) *image.RGBA {
	p := plainPlot()
	p.BackgroundColor = widgets.Paper
	grid := plotter.NewGrid()
	grid.Vertical.Width, grid.Horizontal.Color, grid.Horizontal.Width = 0, widgets.Panel, 0.8
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Color, a.Label.TextStyle.Color, a.Tick.Color, a.Tick.Label.Color = widgets.Rule, widgets.Ink, widgets.Rule, widgets.Ink
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size = 11, 10.5
	}
	years, moved, settling := words.Axes()
	p.X.Label.Text, p.Y.Label.Text = years, moved
	last := t.Penetration[len(t.Penetration)-1].Years
	p.Add(grid)
	if t.Fit != nil {
		plainBand(p, t, words)
	}
	for _, f := range t.Penetration {
		addGlyph(p, plotter.XYs{{X: f.Years, Y: f.Vector.Superior}}, draw.CircleGlyph{}, widgets.Plum, 4.5)
	}
	p.X.Min, p.X.Max = 0, max(last*1.05, 2)
	lo := min(p.Y.Min, 0)
	hi := max(p.Y.Max, lo+1)
	p.Y.Min, p.Y.Max = lo, hi+0.08*(hi-lo)
	if words.Settles() {
		settlingLabel(p, t, settling)
	}
	p.X.Tick.Marker = inWords{roundTicks{max(2, w/int(100*scale)), 1}, words}
	p.Y.Tick.Marker = inWords{roundTicks{max(2, h/int(60*scale)), 0.1}, words}
	dpi := 96 * scale
	unit := vg.Length(72 / dpi)
	img := vgimg.NewWith(vgimg.UseWH(vg.Length(w)*unit, vg.Length(h)*unit), vgimg.UseDPI(int(math.Round(dpi))),
		vgimg.UseBackgroundColor(widgets.Paper))
	p.Draw(draw.Crop(draw.New(img), 6, -12, 4, -8))
	return rgba(img.Image(), w, h)
}

// plainPlot is newPlot without its grid.
func plainPlot() *plot.Plot {
	p, q := plot.New(), newPlot()
	p.X, p.Y = q.X, q.Y
	return p
}

// plainBand draws settling as a shaded time, where the films tell it, and the pace with its
// band since.
func plainBand(p *plot.Plot, t study.Trend, words patient.Page) {
	if words.Settles() {
		shade(p, t.Fit.StartYears, widgets.Panel)
	}
	c := steadyCourse(t)
	c.addBand(p, widgets.Tint)
	addLine(p, c.line, widgets.Teal, 2, nil)
}

// settlingLabel names the shaded time, at the top of what is shown.
func settlingLabel(p *plot.Plot, t study.Trend, text string) {
	l, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{{X: t.Fit.StartYears / 20, Y: p.Y.Min + 0.94*(p.Y.Max-p.Y.Min)}}, Labels: []string{text}})
	if err == nil {
		l.TextStyle[0].Color, l.TextStyle[0].Font.Size = widgets.Faded, 10
		l.TextStyle[0].Font.Typeface, l.TextStyle[0].Font.Variant = "Liberation", "Sans"
		p.Add(labels{l})
	}
}

// inWords are ticks with the decimal mark of a page's language.
type inWords struct {
	plot.Ticker
	page patient.Page
}

// Ticks implements plot.Ticker.
func (t inWords) Ticks(lo, hi float64) []plot.Tick {
	ticks := t.Ticker.Ticks(lo, hi)
	for i := range ticks {
		ticks[i].Label = t.page.Marked(ticks[i].Label)
	}
	return ticks
}
