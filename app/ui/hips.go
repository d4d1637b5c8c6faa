package ui

import (
	"image/color"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
)

// hipsPage lists the hips of the study file, with filters and order.
type hipsPage struct {
	basis

	head   *fyne.Container // what stands above the table
	title  *canvas.Text
	find   *field
	group  *passingSelect
	groups *fyne.Container // holds group
	states *stateFilter
	counts *countsSelect
	export *widget.Button
	enter  *widget.Button // films and tables of many patients
	sweep  *widget.Button // every film measured
	own    *widget.Button // variables of the study
	report *widget.Button
	table  *widgets.Table
	empty  *widget.Label
	again  *widget.Button
	foot   *widget.Label

	rows    []study.Summary
	filling bool
}

// everyGroup is the choice that stands for no filter.
func everyGroup() string { return say("hips.every-group") }

// hipsColumns are the columns, by the keys of their titles, with the order that a click on a title makes.
var hipsColumns = []struct {
	widgets.Column
	key  session.SortKey
	down bool // the most comes first
}{
	{widgets.Column{Title: "hips.hip", Share: 1.6, Sorts: true}, session.ByCode, false},
	{widgets.Column{Title: "hips.state", Share: 1.05, Sorts: true}, session.ByState, false},
	{widgets.Column{Title: "field.group", Share: 0.9, Sorts: true}, session.ByGroup, false},
	{widgets.Column{Title: "hips.implant", Share: 1.45}, -1, false},
	{widgets.Column{Title: "hips.films", Share: 1.05, Sorts: true}, session.ByLastFilm, false},
	{widgets.Column{Title: "hips.read", Share: 1.1, Sorts: true}, session.ByWaiting, true},
	{widgets.Column{Title: "page.trend.steady-state-rate", Share: 1.4, Sorts: true}, session.ByRate, true},
	{widgets.Column{Title: "hips.to-settle", Share: 1.3, Sorts: true}, session.ByMissing, true},
}

func hipsKind() pageKind {
	return pageKind{
		word: say("hips.name"), does: say("hips.does"), turns: named("F2", nil, fyne.KeyF2),
		fill: func(w *window) page { return newHipsPage(w) },
	}
}

func newHipsPage(w *window) *hipsPage {
	p := &hipsPage{basis: basis{w: w}}
	p.title = pageTitle()
	p.find = newField(w, "")
	p.find.keeps = []fyne.KeyName{fyne.KeyHome, fyne.KeyEnd, fyne.KeyReturn, fyne.KeyEnter}
	p.find.SetPlaceHolder(say("hips.find"))
	p.find.OnChanged = func(text string) { p.filter(func(o *session.Overview) { o.Text = text }) }
	p.find.OnSubmitted = func(string) { p.open(p.table.Cursor()) }
	p.group = newSelect(w, nil, func(name string) {
		p.filter(func(o *session.Overview) { o.Group = without(name, everyGroup()) })
	})
	p.states = newStateFilter(p)
	p.counts = newCountsSelect(w, func() []string { return p.readers() })
	p.export = widget.NewButton(say("hips.write-tables"), func() { w.withNumbers(w.askExport) })
	p.enter = widget.NewButton(say("hips.import"), w.askImport)
	p.sweep = widget.NewButton(say("hips.measure-all"), w.askMeasureAll)
	p.own = widget.NewButton(say("variables.ask"), w.askVariables)
	p.report = widget.NewButton(say("hips.report"), func() { w.withNumbers(w.askReport) })
	columns := make([]widgets.Column, len(hipsColumns))
	for i, c := range hipsColumns {
		columns[i] = c.Column
		columns[i].Title = say(c.Title)
	}
	p.table = widgets.NewTable(columns...)
	p.table.OnOpen = p.open
	p.table.OnKey = func(e *fyne.KeyEvent) { w.key(e.Name, false) }
	p.table.OnSort = func(i int) { p.filter(func(o *session.Overview) { o.SortBy(hipsColumns[i].key) }) }
	p.empty = widget.NewLabel("")
	p.empty.Alignment, p.empty.Wrapping = fyne.TextAlignCenter, fyne.TextWrapWord
	p.again = widget.NewButton(say("button.try-again"), func() { w.s.Overview().Retry() })
	p.foot = note("")
	p.arrange()
	return p
}

func without(name, none string) string {
	if name == none {
		return ""
	}
	return name
}

func (p *hipsPage) arrange() {
	wide := func(o fyne.CanvasObject, width float32) *fyne.Container {
		return container.NewGridWrap(fyne.NewSize(width, o.MinSize().Height), o)
	}
	p.groups = wide(p.group, 150)
	pad := func(o fyne.CanvasObject) fyne.CanvasObject {
		return container.New(layout.NewCustomPaddedLayout(6, 2, 14, 14), o)
	}
	filters := container.NewBorder(nil, nil, nil, container.NewHBox(p.groups, widget.NewLabel(say("reader.readings")), wide(p.counts, 170), p.export, p.report), p.find)
	middle := container.NewStack(p.table, container.NewCenter(container.NewVBox(
		container.New(columnLayout{520}, p.empty), container.NewCenter(p.again))))
	p.states.object = pad(p.states.row)
	p.head = container.NewVBox(pageHead(p.title), pad(filters), p.states.object)
	foot := container.NewBorder(nil, nil, nil, container.NewHBox(p.own, p.enter, p.sweep), p.foot)
	p.object = onGround(container.NewBorder(p.head, pad(foot), nil, nil, pad(middle)))
}

func (p *hipsPage) filter(set func(*session.Overview)) {
	if p.filling {
		return
	}
	set(p.w.s.Overview())
	p.show()
}

func (p *hipsPage) readers() []string {
	var out []string
	for _, r := range p.rows {
		for _, code := range r.Readers {
			if !slices.Contains(out, code) {
				out = append(out, code)
			}
		}
	}
	slices.Sort(out)
	return out
}

// show mirrors the overview.
func (p *hipsPage) show() {
	s := p.w.s
	o := s.Overview()
	p.filling = true
	defer func() { p.filling = false }()
	if p.find.Text != o.Text {
		p.find.SetText(o.Text)
	}
	p.rows = o.Rows()
	p.title.Text = say("hips.name")
	if path := s.Book().Path(); path != "" {
		p.title.Text = say("hips.name-of", "File", study.NameOf(path))
	}
	p.title.Refresh()
	p.group.SetOptions(append([]string{everyGroup()}, o.Groups()...))
	selectOr(p.group, o.Group, everyGroup())
	p.states.show(o)
	show(p.groups, len(o.Groups()) > 0)
	p.counts.show()
	enable(p.export, s.Book().Path() != "" && o.Total() > 0)
	open := s.Book().Path() != "" && !s.Book().ReadOnly()
	enable(p.enter, open)
	enable(p.counts, !s.Book().ReadOnly())
	enable(p.own, s.Book().Path() != "")
	enable(p.sweep, open && o.Total() > 0)
	enable(p.report, s.Book().Path() != "" && o.Total() > 0)
	for i, c := range hipsColumns {
		if c.key == o.Sort {
			p.table.Sorted(i, o.Back != c.down)
		}
	}
	o.Seen()
	rows := p.rows // the table may be drawn once more with what it has while others are here already
	p.table.Fill(len(rows), func(i int) []widgets.Cell { return hipCells(rows[i]) }, o.Cursor(rows))
	p.empty.SetText(emptyHips(s, o, len(p.rows)))
	show(p.empty, p.empty.Text != "")
	show(p.again, o.Err() != nil)
	show(p.table, len(p.rows) > 0)
	foot := ""
	if len(p.rows) > 0 {
		foot = say("hips.foot", "Hips", p.w.hipsText(), "N", len(p.rows), "Of", o.Total(), "Key", p.w.keyLabel(findHip))
	}
	if shown, of, ok := o.SoFar(); ok {
		foot = texts.Say("hips.so-far", texts.Values{"Shown": float64(shown), "Of": float64(of)})
	}
	p.foot.SetText(foot)
}

// hipsText counts the hips of the study and says which films wait.
func (w *window) hipsText() string {
	n, waiting := w.s.Overview().Hips()
	text := say("hips.count", "N", n)
	if waiting != nil {
		text += " · " + waiting[0] + " " + session.SomeOf(waiting[1:], " ")
	}
	return strings.TrimSuffix(text, ".")
}

func selectOr(s *passingSelect, value, none string) {
	if value == "" {
		value = none
	}
	if s.Selected != value {
		s.SetSelected(value)
	}
}

// emptyHips says why no hip is listed, and the way on.
func emptyHips(s *session.Session, o *session.Overview, rows int) string {
	switch {
	case rows > 0:
		return ""
	case s.Book().Path() == "":
		return say("hips.no-file")
	case o.Err() != nil:
		return say("hips.not-read", "Why", study.Told(o.Err()))
	case o.Loading():
		return say("hips.reading")
	case o.Total() == 0:
		return say("hips.none")
	case rows == 0:
		return say("hips.no-match")
	}
	return ""
}

func hipCells(r study.Summary) []widgets.Cell {
	h := r.Hip
	films, span := say("hips.no-films"), ""
	if !r.First.IsZero() {
		films = say("hips.from", "Date", r.First.Format("2006-01-02"))
		span = r.Last.Format("2006-01-02")
	}
	if r.Films == 1 {
		films, span = r.First.Format("2006-01-02"), say("hips.one-film")
	}
	read, more := say("hips.read-of", "N", r.Read, "Of", r.Films), strings.Join(r.Readers, ", ")
	if r.LeftOut > 0 {
		read += say("hips.left-out", "N", r.LeftOut)
	}
	if r.NoResult > 0 {
		read += say("hips.no-result", "N", r.NoResult)
	}
	if r.Drafts > 0 {
		more = strings.TrimPrefix(more+say("hips.not-accepted", "N", r.Drafts), ", ")
	}
	now := r.Current()
	rate := widgets.Cell{Text: "–", More: study.NoteWords(now.Why), Color: widgets.Muted}
	if f := now.Fit; f != nil {
		rate = widgets.Cell{Text: say("page.trend.rate", "Rate", signed(f.Rate, 3)), More: study.NoteWords(now.Why)}
		if f.HasInterval {
			rate.More = say("page.trend.interval", "Lo", signed(f.Lo95, 3), "Hi", signed(f.Hi95, 3))
		}
	}
	if now.No > 1 {
		rate.More = texts.Say("hips.series", texts.Values{"From": now.From.Format(time.DateOnly), "More": rate.More})
	}
	missing := widgets.Cell{Text: "–", Color: widgets.Muted}
	if all := study.NotesWords(r.Remarks()); len(all) > 0 {
		missing = widgets.Cell{Text: all[0], More: strings.Join(all[1:], ", ")}
		if len(r.Attention)+len(r.Doubts) > 0 {
			missing.Color = widgets.Watch
		}
	}
	group := h.Group
	if group == "" {
		group = "–"
	}
	return []widgets.Cell{
		{Text: h.Patient, Code: true, More: h.Side.String()},
		{Text: r.State.Words(), Color: hipColor(r.State)},
		{Text: group},
		{Text: headText(h.Implant), More: linerText(h.Implant)},
		{Text: films, More: span},
		{Text: read, More: more, Color: waitColor(r)},
		rate, missing,
	}
}

// waitColor marks hips whose films wait for a reading.
func waitColor(r study.Summary) color.Color {
	if r.Unread > 0 {
		return widgets.Watch
	}
	return nil
}

// hipColor is that of a hip's state; the word always stands in it.
func hipColor(s study.HipState) color.Color {
	switch s {
	case study.HipAttention:
		return widgets.Watch
	case study.HipDone:
		return widgets.Good
	}
	return nil
}

// open shows the films of the hip in a row, the first that waits to be read.
func (p *hipsPage) open(row int) {
	if row < 0 || row >= len(p.rows) {
		return
	}
	if h, _ := p.w.s.Hip(); h.ID == p.rows[row].Hip.ID {
		p.w.s.Strip().SelectWaiting()
		p.w.s.Overview().Point(h.ID)
		p.w.toFilms()
		return
	}
	p.w.openRow(p.rows[row])
}

// take takes the films that wait in a row into the hip that is open.
func (p *hipsPage) take(row int) {
	if row >= 0 && row < len(p.rows) {
		p.w.takeIn(p.rows[row])
	}
}

// ready reports whether there are hips to list, or one.
func (p *hipsPage) ready() bool {
	return p.basis.ready() || p.w.s.Book().Path() != "" || p.w.s.Intake().Any()
}

func (p *hipsPage) heard(session.Change) { p.show() }

func (p *hipsPage) keys() []keyRow {
	const screen = 10
	o := p.w.s.Overview
	move := func(label string, by func() int, k fyne.KeyName) key {
		return named(label, func() { o().Move(by()); p.show() }, k)
	}
	hips := func(n int) func() int { return func() int { return n } }
	return []keyRow{
		{does: say("hips.before-after"), keys: []key{move(say("tool.up"), hips(-1), fyne.KeyUp), move(say("tool.down"), hips(1), fyne.KeyDown)}},
		{does: say("hips.ten-hips-before"), keys: []key{
			move(say("tool.page-up"), hips(-screen), fyne.KeyPageUp), move(say("tool.page-down"), hips(screen), fyne.KeyPageDown),
		}},
		{does: say("hips.first-hip-last"), keys: []key{
			move(say("tool.home"), func() int { return -o().Total() }, fyne.KeyHome), move(say("tool.end"), func() int { return o().Total() }, fyne.KeyEnd),
		}},
		{does: say("hips.hips-state-before"), keys: []key{
			named(say("tool.left"), func() { p.filter(func(o *session.Overview) { o.StepState(-1) }) }, fyne.KeyLeft),
			named(say("tool.right"), func() { p.filter(func(o *session.Overview) { o.StepState(1) }) }, fyne.KeyRight),
			named(say("tool.backspace"), func() { p.filter((*session.Overview).ShowAll) }, fyne.KeyBackspace).in(showAllHips, ""),
		}},
		{does: say("hips.order-next-column"), keys: []key{letter('O', func() { p.filter(orderByNext) }), letter('R', func() { p.filter(orderBack) })}},
		{does: say("hips.open-hip-films"), keys: []key{named(say("tool.enter"), func() { p.open(p.table.Cursor()) }, fyne.KeyReturn, fyne.KeyEnter)}},
		{does: say("hips.take-films-wait"), keys: []key{letter('T', func() { p.take(p.table.Cursor()) })}},
		{does: say("hips.find-hip"), keys: []key{
			key{label: "/", runes: "/", do: func() { p.w.win.Canvas().Focus(p.find) }}.in(findHip, ""),
		}},
	}
}

// headText is the head in a few words: "28 mm cobalt-chrome head".
func headText(m study.Implant) string {
	if m.HeadMM == 0 {
		return say("hips.head-unknown")
	}
	words := study.HeadWords(m.HeadMaterial)
	return strings.Join(strings.Fields(say("hips.head", "MM", number(m.HeadMM), "Material", words)), " ")
}

// linerText is the liner and the shell in a few words.
func linerText(m study.Implant) string {
	var parts []string
	if m.LinerMM > 0 || m.PE != "" {
		mm := ""
		if m.LinerMM > 0 {
			mm = number(m.LinerMM)
		}
		parts = append(parts, say("hips.liner", "MM", mm, "PE", m.PE))
	}
	if m.ShellMM > 0 {
		parts = append(parts, say("hips.shell", "MM", number(m.ShellMM)))
	}
	return strings.Join(parts, ", ")
}
