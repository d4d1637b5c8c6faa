package ui

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// plotNote explains the plot where the pointer is over no film.
func plotNote() string { return say("page.trend.marks") }

// trendView shows penetration over time below the viewer.
type trendView struct {
	object fyne.CanvasObject
	s      *session.Session
	chart  *widgets.Chart
	tiles  [3]tile
	empty  *widget.Label
	points []plotPoint
	over   *canvas.Text
}

// tile is a number with its name above and its interval beside.
type tile struct{ name, value, more *canvas.Text }

func newTile() tile {
	t := tile{canvas.NewText("", widgets.Muted), canvas.NewText("", widgets.Text), canvas.NewText("", widgets.Muted)}
	t.name.TextSize, t.value.TextSize, t.more.TextSize = 11.5, 15, 11.5
	t.value.TextStyle.Bold = true
	return t
}

func (t tile) set(name, value, more string) {
	t.name.Text, t.value.Text, t.more.Text = name, value, more
	for _, x := range []*canvas.Text{t.name, t.value, t.more} {
		x.Refresh()
	}
}

func newTrendView(s *session.Session) *trendView {
	v := &trendView{s: s, chart: widgets.NewChart()}
	row := container.NewHBox()
	for i := range v.tiles {
		v.tiles[i] = newTile()
		t := v.tiles[i]
		row.Add(container.New(layout.NewCustomPaddedLayout(2, 7, 10, 14), container.New(layout.NewCustomPaddedVBoxLayout(0),
			t.name, container.New(layout.NewCustomPaddedHBoxLayout(6), t.value, container.NewVBox(layout.NewSpacer(), t.more)))))
	}
	v.empty = emptyNote()
	v.over = canvas.NewText("", widgets.Muted)
	v.over.TextSize = 11.5
	v.chart.Draw = v.draw
	v.chart.OnTap = v.tap
	v.chart.OnHover = v.hover
	v.chart.OnLeave = func() { v.tell(plotNote()) }
	over := container.New(layout.NewCustomPaddedLayout(0, 0, 64, 0), container.NewVBox(v.over))
	// A narrow window scrolls the numbers rather than widening for them.
	v.object = container.NewBorder(container.NewHScroll(row), nil, nil, nil,
		container.NewStack(v.chart, over, midway(v.empty)))
	return v
}

func (v *trendView) show() {
	t, err := v.s.Trend()
	v.empty.SetText(emptyTrend(v.s, err))
	if err != nil {
		v.tell("")
	} else {
		v.tell(plotNote())
	}
	v.showTiles(t, err)
	v.chart.Redraw()
}

// emptyTrend says why there is no trend.
func emptyTrend(s *session.Session, err error) string {
	switch {
	case err == nil:
		return ""
	case len(s.Strip().Films()) == 0:
		return ""
	}
	return say("page.trend.none", "Why", study.Told(err))
}

func (v *trendView) showTiles(t study.Trend, err error) {
	for i := range v.tiles {
		v.tiles[i].set("", "", "")
	}
	if err != nil {
		return
	}
	if t.Fit == nil {
		v.tiles[0].set(say("page.trend.steady-state-rate"), say("page.trend.not-yet"), study.NoteWords(t.WhyNoRate()))
		return
	}
	f := t.Fit
	more := say("page.trend.no-interval-from")
	if f.HasInterval {
		more = say("page.trend.interval-films", "Lo", signed(f.Lo95, 3), "Hi", signed(f.Hi95, 3), "N", f.Line.N, "Years", yearsWord(f.StartYears))
		if f.IntervalFrom == study.FromReadings {
			more += say("page.trend.their-own-errors")
		}
	}
	v.tiles[0].set(say("page.trend.steady-state-rate"), say("page.trend.rate", "Rate", signed(f.Rate, 3)), more+notAccepted(v.s, ", "))
	if f.HasBedding {
		v.tiles[1].set(say("page.trend.bedding"), say("page.trend.mm", "MM", mm(f.BeddingIn)), say("page.trend.interval", "Lo", mm(f.BeddingLo95), "Hi", mm(f.BeddingHi95)))
	}
	if f.HasFirstToLast {
		v.tiles[2].set(say("page.trend.first-last"), say("page.trend.rate", "Rate", signed(f.FirstToLast, 3)), "")
	}
}

// notAccepted says after a mark how many films of the trend nobody has accepted, "" for
// none.
func notAccepted(s *session.Session, mark string) string {
	n := s.Course().NotAccepted()
	if n == 0 {
		return ""
	}
	return say("page.trend.not-accepted", "Mark", mark, "N", n)
}

func (v *trendView) draw(w, h int, scale float64) image.Image {
	t, err := v.s.Trend()
	c := plotContent{Drafts: map[string]bool{}}
	if err == nil {
		c.Trend, c.Aside = t, v.s.Course().Aside()
	}
	if f := v.s.Strip().Selected(); f != nil {
		c.Current = f.ID
	}
	for _, f := range v.s.Strip().Films() {
		c.Drafts[f.ID] = f.State() != session.Accepted
	}
	if err != nil {
		v.points = nil
		return blank(w, h)
	}
	img, points := drawTrend(c, w, h, scale)
	v.points = points
	return img
}

func blank(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = widgets.Ground.R, widgets.Ground.G, widgets.Ground.B, 255
	}
	return img
}

// near returns the film whose point lies within reach of (x, y), or nil.
func (v *trendView) near(x, y float64) *session.Film {
	const reach = 18
	best, least := "", math.Inf(1)
	for _, p := range v.points {
		if d := math.Hypot(p.X-x, p.Y-y); d < reach && d < least {
			best, least = p.Film, d
		}
	}
	if best == "" {
		return nil
	}
	return v.s.Strip().ByID(best)
}

func (v *trendView) tap(x, y float64) {
	if f := v.near(x, y); f != nil {
		v.s.Strip().SelectFilm(f.ID)
	}
}

func (v *trendView) hover(x, y float64) bool {
	f := v.near(x, y)
	if f == nil {
		v.tell(plotNote())
		return false
	}
	p, _ := v.s.Course().Moved(f)
	sup, _ := p.SE()
	v.tell(say("page.trend.at-point", "Date", f.DateText(), "MM", mm(p.Superior), "SE", mm(sup), "State", stateText(f)))
	return true
}

func (v *trendView) tell(text string) {
	if v.over.Text != text {
		v.over.Text = text
		v.over.Refresh()
	}
}
