package ui

import (
	"fmt"
	"image/color"
	"slices"
	"strings"

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
const everyGroup = "every group"

// hipsColumns are the columns with the order that a click on the title makes.
var hipsColumns = []struct {
	widgets.Column
	key  session.SortKey
	down bool // the most comes first
}{
	{widgets.Column{Title: "Hip", Share: 1.6, Sorts: true}, session.ByCode, false},
	{widgets.Column{Title: "State", Share: 1.05, Sorts: true}, session.ByState, false},
	{widgets.Column{Title: "Group", Share: 0.9, Sorts: true}, session.ByGroup, false},
	{widgets.Column{Title: "Implant", Share: 1.45}, -1, false},
	{widgets.Column{Title: "Films", Share: 1.05, Sorts: true}, session.ByLastFilm, false},
	{widgets.Column{Title: "Read", Share: 1.1, Sorts: true}, session.ByWaiting, true},
	{widgets.Column{Title: "Steady-state rate", Share: 1.4, Sorts: true}, session.ByRate, true},
	{widgets.Column{Title: "To settle, missing", Share: 1.3, Sorts: true}, session.ByMissing, true},
}

func hipsKind() pageKind {
	return pageKind{
		word: "Hips", does: "hips of the study", turns: named("F2", nil, fyne.KeyF2),
		fill: func(w *window) page { return newHipsPage(w) },
	}
}

func newHipsPage(w *window) *hipsPage {
	p := &hipsPage{basis: basis{w: w}}
	p.title = pageTitle()
	p.find = newField(w, "")
	p.find.keeps = []fyne.KeyName{fyne.KeyHome, fyne.KeyEnd, fyne.KeyReturn, fyne.KeyEnter}
	p.find.SetPlaceHolder("Find: code, side, material, reader, what is missing …")
	p.find.OnChanged = func(text string) { p.filter(func(o *session.Overview) { o.Text = text }) }
	p.find.OnSubmitted = func(string) { p.open(p.table.Cursor()) }
	p.group = newSelect(w, nil, func(name string) {
		p.filter(func(o *session.Overview) { o.Group = without(name, everyGroup) })
	})
	p.states = newStateFilter(p)
	p.counts = newCountsSelect(w, func() []string { return p.readers() })
	p.export = widget.NewButton("Write tables …", w.askExport)
	p.enter = widget.NewButton("Import …", w.askImport)
	p.sweep = widget.NewButton("Measure all …", w.askMeasureAll)
	p.own = widget.NewButton(say("variables.ask"), w.askVariables)
	p.report = widget.NewButton("Report …", w.askReport)
	columns := make([]widgets.Column, len(hipsColumns))
	for i, c := range hipsColumns {
		columns[i] = c.Column
	}
	p.table = widgets.NewTable(columns...)
	p.table.OnOpen = p.open
	p.table.OnKey = func(e *fyne.KeyEvent) { w.key(e.Name, false) }
	p.table.OnSort = func(i int) { p.filter(func(o *session.Overview) { o.SortBy(hipsColumns[i].key) }) }
	p.empty = widget.NewLabel("")
	p.empty.Alignment, p.empty.Wrapping = fyne.TextAlignCenter, fyne.TextWrapWord
	p.again = widget.NewButton("Try again", func() { w.s.Overview().Retry() })
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
	filters := container.NewBorder(nil, nil, nil, container.NewHBox(p.groups, widget.NewLabel("Readings that count"), wide(p.counts, 170), p.export, p.report), p.find)
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
	p.title.Text = "Hips"
	if path := s.Book().Path(); path != "" {
		p.title.Text = "Hips of " + study.NameOf(path)
	}
	p.title.Refresh()
	p.group.SetOptions(append([]string{everyGroup}, o.Groups()...))
	selectOr(p.group, o.Group, everyGroup)
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
		foot = fmt.Sprintf("%s · %d of %d rows · Up and Down choose, Left and Right the state, Enter or a click opens the films, %s finds · only accepted readings count here", p.w.hipsText(), len(p.rows), o.Total(), p.w.keyLabel(findHip))
	}
	if shown, of, ok := o.SoFar(); ok {
		foot = texts.Say("hips.so-far", texts.Values{"Shown": float64(shown), "Of": float64(of)})
	}
	p.foot.SetText(foot)
}

// hipsText counts the hips of the study and says which films wait.
func (w *window) hipsText() string {
	n, waiting := w.s.Overview().Hips()
	text := study.Count(n, "hip")
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
		return "No study file is open. One is made when films are opened; an existing one is opened with Open."
	case o.Err() != nil:
		return "The study file could not be read: " + study.Told(o.Err()) + "."
	case o.Loading():
		return "Reading the study file …"
	case o.Total() == 0:
		return "This study file holds no hip yet. Open films: their hips are kept here from then on."
	case rows == 0:
		return "No hip matches the words, the group and the state chosen above."
	}
	return ""
}

func hipCells(r study.Summary) []widgets.Cell {
	h := r.Hip
	films, span := "no films", ""
	if !r.First.IsZero() {
		films = r.First.Format("2006-01-02") + " to"
		span = r.Last.Format("2006-01-02")
	}
	if r.Films == 1 {
		films, span = r.First.Format("2006-01-02"), "one film"
	}
	read, more := fmt.Sprintf("%d of %d", r.Read, r.Films), strings.Join(r.Readers, ", ")
	if r.LeftOut > 0 {
		read += fmt.Sprintf(", %d left out", r.LeftOut)
	}
	if r.NoResult > 0 {
		read += fmt.Sprintf(", %d without result", r.NoResult)
	}
	if r.Drafts > 0 {
		more = strings.TrimPrefix(more+fmt.Sprintf(", %d not accepted", r.Drafts), ", ")
	}
	rate := widgets.Cell{Text: "–", More: study.NoteWords(r.Why), Color: widgets.Muted}
	if f := r.Fit; f != nil {
		rate = widgets.Cell{Text: signed(f.Rate, 3) + " mm/year", More: study.NoteWords(r.Why)}
		if f.HasInterval {
			rate.More = fmt.Sprintf("95 %% %s to %s", signed(f.Lo95, 3), signed(f.Hi95, 3))
		}
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
		{does: "hip before, hip after", keys: []key{move("Up", hips(-1), fyne.KeyUp), move("Down", hips(1), fyne.KeyDown)}},
		{does: "ten hips before, ten after", keys: []key{
			move("Page Up", hips(-screen), fyne.KeyPageUp), move("Page Down", hips(screen), fyne.KeyPageDown),
		}},
		{does: "first hip, last hip", keys: []key{
			move("Home", func() int { return -o().Total() }, fyne.KeyHome), move("End", func() int { return o().Total() }, fyne.KeyEnd),
		}},
		{does: "hips of the state before, of the state after; every hip again", keys: []key{
			named("Left", func() { p.filter(func(o *session.Overview) { o.StepState(-1) }) }, fyne.KeyLeft),
			named("Right", func() { p.filter(func(o *session.Overview) { o.StepState(1) }) }, fyne.KeyRight),
			named("Backspace", func() { p.filter((*session.Overview).ShowAll) }, fyne.KeyBackspace).in(showAllHips, ""),
		}},
		{does: "order by the next column; back by the same", keys: []key{letter('O', func() { p.filter(orderByNext) }), letter('R', func() { p.filter(orderBack) })}},
		{does: "open the hip's films, the first that waits to be read", keys: []key{named("Enter", func() { p.open(p.table.Cursor()) }, fyne.KeyReturn, fyne.KeyEnter)}},
		{does: "take films that wait into the hip that is open", keys: []key{letter('T', func() { p.take(p.table.Cursor()) })}},
		{does: "find a hip", keys: []key{
			key{label: "/", runes: "/", do: func() { p.w.win.Canvas().Focus(p.find) }}.in(findHip, ""),
		}},
	}
}

// headText is the head in a few words: "28 mm cobalt-chrome head".
func headText(m study.Implant) string {
	if m.HeadMM == 0 {
		return "head not known"
	}
	words := study.HeadWords(m.HeadMaterial)
	return strings.Join(strings.Fields(number(m.HeadMM)+" mm "+words+" head"), " ")
}

// linerText is the liner and the shell in a few words.
func linerText(m study.Implant) string {
	var parts []string
	if m.LinerMM > 0 || m.PE != "" {
		text := m.PE + " liner"
		if m.LinerMM > 0 {
			text = number(m.LinerMM) + " mm " + text
		}
		parts = append(parts, strings.Join(strings.Fields(text), " "))
	}
	if m.ShellMM > 0 {
		parts = append(parts, number(m.ShellMM)+" mm shell")
	}
	return strings.Join(parts, ", ")
}
