package ui

import (
	"fmt"
	"image"
	"math"
	"slices"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
)

// coursePage is the trend at full size: a model, its band, what it foretells, its
// residuals, and all models side by side.
type coursePage struct {
	basis

	chart     *widgets.Chart
	title     *canvas.Text
	said      *widget.Label
	empty     *widget.Label
	choices   *fyne.Container // of a trend that there is
	component *passingSelect
	model     *passingSelect
	start     *passingSlider
	startText *widget.Label
	until     *passingSlider
	untilText *widget.Label
	table     *widgets.Figures
	markers   *passingCheck
	counts    *countsSelect
	tip       *tip

	chosen  int // of the models
	models  []study.Model
	places  coursePlaces
	filling bool
	over    string // said below the chart
	scale   float64
}

// courseChoice is what was chosen on the trend page. The window keeps it while pages
// are made anew for another look.
type courseChoice struct {
	what  study.Component
	model string  // code; empty for the first
	later float64 // year to extrapolate to, 0 for none
	of    string  // ID of the hip that it is chosen for
	bare  bool    // without the rates from literature
}

func trendKind() pageKind {
	return pageKind{
		word: say("page.trend.name"), does: say("page.trend.does"), turns: letter('P', nil),
		fill: func(w *window) page { return newCoursePage(w) },
	}
}

func newCoursePage(w *window) *coursePage {
	p := &coursePage{basis: basis{w: w}, chart: widgets.NewChart(), table: widgets.NewFigures()}
	p.title = pageTitle()
	p.said = widget.NewLabel("")
	p.said.Wrapping = fyne.TextWrapWord
	p.chart.Draw, p.chart.OnTap, p.chart.OnHover = p.draw, p.tap, p.hover
	w.offersPicture(p.chart, "-trend")
	p.tip = newTip()
	p.chart.OnLeave = func() { p.tell(""); p.tip.hide() }
	p.counts = newCountsSelect(w, w.s.Book().Readers)
	var parts []string
	for _, c := range study.Components() {
		parts = append(parts, c.String())
	}
	p.component = newSelect(w, parts, func(string) { p.chooseComponent() })
	p.model = newSelect(w, nil, func(string) { p.chooseModel() })
	p.start, p.startText = newSlider(w, 0.25, 5, 0.25), widget.NewLabel("")
	p.start.OnChanged = func(v float64) {
		if !p.filling {
			w.s.Course().TryStart(v)
		}
	}
	p.start.OnChangeEnded = func(float64) {
		if !p.filling {
			w.told(w.s.Course().KeepStart())
		}
	}
	p.until, p.untilText = newSlider(w, 0, 30, 1), widget.NewLabel("")
	p.until.OnChanged = func(v float64) {
		if p.filling {
			return
		}
		if w.course.later = v; v <= p.until.Min {
			w.course.later = 0
		}
		p.show()
	}
	p.markers = newCheck(w, say("page.trend.rates-from-literature"), func(on bool) {
		w.course.bare = !on
		p.chart.Redraw()
	})
	p.markers.Checked = !w.course.bare
	p.arrange()
	return p
}

func (p *coursePage) arrange() {
	p.empty = emptyNote()
	p.choices = container.New(layout.NewCustomPaddedVBoxLayout(2), bold(say("page.trend.component")), inset(p.component), bold(say("page.trend.model")), inset(p.model),
		p.startText, inset(grooved(p.start, theme.Current(), widgets.Border)), p.untilText, inset(grooved(p.until, theme.Current(), widgets.Border)), p.markers, inset(p.table),
		note(say("page.trend.intervals-films-weighed")))
	side := panel(sideWidth+20,
		bold(say("reader.readings")), inset(p.counts), p.choices)
	foot := container.New(layout.NewCustomPaddedLayout(0, 4, 8, 8), p.said)
	p.object = onGround(container.NewBorder(nil, nil, nil, p.w.handingOut(side, p.chart, "-trend"),
		container.NewBorder(p.w.hipHead(p.title), foot, nil, nil, container.NewStack(p.chart, midway(p.empty), p.tip.object))))
}

func (p *coursePage) chooseComponent() {
	if i := p.component.SelectedIndex(); !p.filling && i >= 0 {
		p.w.course.what = study.Components()[i]
		p.show()
	}
}

func (p *coursePage) chooseModel() {
	if i := p.model.SelectedIndex(); !p.filling && i >= 0 {
		p.w.course.model = p.models[i].Code
		p.show()
	}
}

func (p *coursePage) heard(session.Change) { p.show() }

func (p *coursePage) keys() []keyRow { return p.w.stepRows() }

// show fits the models anew and shows them.
func (p *coursePage) show() {
	t, err := p.w.s.Trend()
	h, _ := p.w.s.Hip()
	p.filling = true
	defer func() { p.filling = false }()
	p.title.Text = hipTitle(h)
	p.models = nil
	if err != nil {
		p.title.Text += " · " + say("page.trend.no-trend-yet")
	} else {
		p.models = t.Models(p.w.course.what)
		if p.w.course.what == study.Superior {
			p.models = append(p.models, p.withPeers(t)...)
		}
		p.fill(t)
	}
	p.title.Refresh()
	p.counts.show()
	p.tip.hide()
	show(p.choices, err == nil)
	show(p.said, err == nil)
	show(p.empty, err != nil)
	if err != nil {
		p.empty.SetText(say("page.trend.none-yet", "Why", study.Told(err)))
	}
	p.component.SetSelected(p.w.course.what.String())
	p.start.SetValue(h.Start())
	p.startText.SetText(say("page.trend.steady-from", "Years", yearsWord(h.Start())))
	p.tell("")
	p.chart.Redraw()
}

// withPeers is the model of the hip with the study's others, or why there is none; nothing
// where they are too few, or not fitted yet.
func (p *coursePage) withPeers(t study.Trend) []study.Model {
	c := p.w.s.Course()
	if f := c.Peers(); f != nil {
		return []study.Model{f.Model(t)}
	}
	if m, ok := study.Unfitted(c.PeersFault()); ok {
		return []study.Model{m}
	}
	return nil
}

func (p *coursePage) fill(t study.Trend) {
	choice := &p.w.course
	p.chosen = max(0, slices.IndexFunc(p.models, func(m study.Model) bool { return m.Code == choice.model }))
	var names []string
	for _, m := range p.models {
		names = append(names, m.Words())
	}
	p.model.SetOptions(names)
	p.model.SetSelectedIndex(p.chosen)
	last := t.Penetration[len(t.Penetration)-1].Years
	p.until.Min, p.until.Max = math.Floor(last), math.Ceil(last)+10
	if t.Hip.ID != choice.of {
		choice.of, choice.later = t.Hip.ID, 0
	}
	choice.later = min(choice.later, p.until.Max)
	p.until.SetValue(max(choice.later, p.until.Min))
	text := say("page.trend.extrapolated-later-year")
	if y := p.horizon(t); y > 0 {
		text = say("page.trend.extrapolated", "Years", y)
	}
	p.untilText.SetText(text)
	p.table.Set(append(p.rows(), p.restRows(t)...))
	m := p.models[p.chosen]
	p.title.Text += " · " + p.w.course.what.String()
	if m.Fitted {
		p.title.Text += " " + say("page.trend.rate", "Rate", signed(m.Rate, 3))
		if m.HasInterval {
			p.title.Text += "  " + say("page.trend.in-brackets", "Lo", signed(m.Lo95, 3), "Hi", signed(m.Hi95, 3))
		}
		p.title.Text += notAccepted(p.w.s, " · ")
	}
}

// horizon returns the year to predict to, 0 for none.
func (p *coursePage) horizon(t study.Trend) float64 {
	if y := p.w.course.later; y > t.Penetration[len(t.Penetration)-1].Years {
		return y
	}
	return 0
}

func (p *coursePage) rows() []widgets.Figure {
	rows := []widgets.Figure{{Name: say("page.trend.models"), Head: true, Value: "mm/year"}}
	for i, m := range p.models {
		f := widgets.Figure{Name: m.Words(), Head: true}
		if m.HasAICc {
			f.Extra = signed(m.AICc, 1)
			rows[0].Extra = "AICc"
		}
		rows = append(rows, f)
		if !m.Fitted {
			rows = append(rows, noteRows(m.Note)...)
			continue
		}
		v := widgets.Figure{Name: say("page.trend.films", "N", m.Films), Value: signed(m.Rate, 3)}
		if m.HasInterval {
			v.Name = say("page.trend.films-interval", "N", m.Films, "Lo", signed(m.Lo95, 3), "Hi", signed(m.Hi95, 3))
		}
		if i == p.chosen {
			v.Color = widgets.Accent
		}
		rows = append(rows, v)
		rows = append(rows, noteRows(m.Note)...)
	}
	return rows
}

// notesWide is the width of the list of models, of which notes take as many rows as they
// need.
const notesWide = 330

func noteRows(n study.Note) []widgets.Figure {
	if n.IsZero() {
		return nil
	}
	var rows []widgets.Figure
	for _, line := range wrap(study.NoteWords(n), notesWide, widgets.FigureSize) {
		rows = append(rows, widgets.Figure{Name: line})
	}
	return rows
}

func (p *coursePage) draw(w, h int, scale float64) image.Image {
	t, err := p.w.s.Trend()
	if err != nil || len(p.models) == 0 {
		p.places = coursePlaces{}
		return blank(w, h)
	}
	p.scale = scale
	c := courseContent{Trend: t, What: p.w.course.what, Model: p.models[p.chosen], Aside: p.w.s.Course().Aside(),
		Until: p.horizon(t), Markers: p.markers.Checked && p.w.course.what == study.Superior, Drafts: map[string]bool{}}
	if f := p.w.s.Strip().Selected(); f != nil {
		c.Current = f.ID
	}
	for _, f := range p.w.s.Strip().Films() {
		c.Drafts[f.ID] = f.State() != session.Accepted
	}
	img, places := drawCourse(c, w, h, scale)
	p.places = places
	return img
}

func (p *coursePage) near(x, y float64) *session.Film {
	best, least := "", 18.0
	for _, q := range p.places.films {
		if d := math.Hypot(q.X-x, q.Y-y); d < least {
			best, least = q.Film, d
		}
	}
	if best == "" {
		return nil
	}
	return p.w.s.Strip().ByID(best)
}

func (p *coursePage) tap(x, y float64) {
	if f := p.near(x, y); f != nil {
		p.w.openFilmOf(f)
	}
}

func (p *coursePage) hover(x, y float64) bool {
	text := ""
	f := p.near(x, y)
	if f != nil {
		text = p.filmText(f)
	}
	for _, m := range p.places.markers {
		if f == nil && math.Abs(m.X-x) < 40*p.scale && math.Abs(m.Y-y) < 14*p.scale {
			text = markerSource(m.rate)
		}
	}
	if text == "" {
		p.tip.hide()
	} else {
		p.tip.show(text, float32(x/p.scale), float32(y/p.scale))
	}
	return f != nil
}

// markerSource says what a rate from literature means, and what it does not.
func markerSource(rate float64) string {
	what := say("page.trend.osteolysis-rarely-seen")
	if rate < 0.1 {
		what = say("page.trend.osteolysis-practically-absent")
	}
	return say("page.trend.literature", "Rate", rate, "What", what)
}

func (p *coursePage) filmText(f *session.Film) string {
	text := fmt.Sprintf("%s, %s, %s", f.DateText(), yearsText(p.w.s, f), stateText(f))
	if q, ok := p.w.s.Course().Moved(f); ok {
		v, se := q.Along(p.w.course.what)
		text += say("page.trend.mean-residual", "What", p.w.course.what, "MM", mm(v), "SE", mm(se))
		if m := p.models[p.chosen]; m.Fitted && q.Years >= m.From {
			y, _, _, _ := m.Mean(q.Years)
			text += say("page.trend.residual", "MM", signed(v-y, 3))
		}
	}
	return say("page.trend.click-open", "Text", text)
}

// tell says what is pointed at, or how to read the chart.
func (p *coursePage) tell(text string) {
	if text == "" {
		text = say("page.trend.dot-accepted-ring")
		if t, err := p.w.s.Trend(); err == nil && len(p.models) > 0 {
			if y := p.horizon(t); y > 0 {
				text = p.foretold(y) + text
			}
			if words := p.w.s.Course().BaselineWords(); words != "" {
				text = words + " " + text
			}
			if p.w.course.what == study.Magnitude {
				text = say("page.trend.magnitude", "Text", text)
			}
			text = doubtFirst(t) + text
		}
	}
	if text != p.over {
		p.over = text
		p.said.SetText(text)
	}
}

// doubtFirst is a sentence on a scale that is not to be trusted, before what rests on it.
func doubtFirst(t study.Trend) string {
	why := study.NoteWords(t.Doubt())
	if why == "" {
		return ""
	}
	return study.Capital(why) + ". "
}

func (p *coursePage) foretold(year float64) string {
	m := p.models[p.chosen]
	if !m.Fitted {
		return ""
	}
	y, lo, hi, ok := m.Mean(year)
	text := say("page.trend.pace", "Year", year, "MM", mm(y))
	if ok {
		text += " " + say("page.trend.in-brackets-mm", "Lo", mm(lo), "Hi", mm(hi))
	}
	if lo, hi, ok := m.Next(year); ok {
		text += say("page.trend.would-read", "Lo", mm(lo), "Hi", mm(hi))
	}
	return say("page.trend.can-change", "Text", text) + " "
}

// number writes a number as short as it goes.
func number(v float64) string { return texts.Number(strconv.FormatFloat(v, 'f', -1, 64)) }
