package ui

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// hipPage shows one hip: its implant and dates, its films and what is missing, and
// every reading of each film.
type hipPage struct {
	basis

	title    *canvas.Text
	facts    *widgets.Figures
	missing  *widget.Label
	changes  *widget.Label
	events   *widget.Label
	counts   *countsSelect
	baseline *passingSelect
	reader   *widget.Label
	enter    *widget.Button // who reads
	change   *widget.Button // details
	happened *widget.Button // events
	films    *widgets.Table
	readings *widgets.Table
	none     *widget.Label

	places  []string // film IDs of the choices of baseline
	of      []string // film IDs of the rows of readings
	filling bool
}

func hipKind() pageKind {
	return pageKind{
		word: "Hip", does: "implant, films and readings of this hip", turns: named("F3", nil, fyne.KeyF3),
		fill: func(w *window) page { return newHipPage(w) },
	}
}

func newHipPage(w *window) *hipPage {
	p := &hipPage{basis: basis{w: w}, facts: widgets.NewFigures()}
	p.title = pageTitle()
	p.missing, p.changes, p.events = note(""), note(""), note("")
	p.counts = newCountsSelect(w, w.s.Book().Readers)
	p.baseline = newSelect(w, nil, func(string) {
		if i := p.baseline.SelectedIndex(); !p.filling && i >= 0 {
			w.told(w.s.SetBaseline(p.places[i]))
		}
	})
	p.reader = widget.NewLabel("")
	p.films = widgets.NewTable(
		widgets.Column{Title: "Film", Share: 1}, widgets.Column{Title: "State", Share: 1.6},
		widgets.Column{Title: "Penetration", Share: 1.2}, widgets.Column{Title: "Remarks", Share: 2.6})
	p.films.OnOpen = func(i int) {
		if films := w.s.Strip().Films(); i < len(films) {
			w.openFilmOf(films[i])
		}
	}
	p.films.OnKey = func(e *fyne.KeyEvent) { w.key(e.Name, false) }
	p.readings = widgets.NewTable(
		widgets.Column{Title: "Film", Share: 0.8}, widgets.Column{Title: "Reader", Share: 0.8},
		widgets.Column{Title: "Accepted", Share: 1.2}, widgets.Column{Title: "Head centre from cup centre", Share: 1.6},
		widgets.Column{Title: "Status", Share: 1.4})
	p.readings.OnOpen = func(i int) {
		if i < len(p.of) {
			if f := w.s.Strip().ByID(p.of[i]); f != nil {
				w.openFilmOf(f)
			}
		}
	}
	p.readings.OnKey = p.films.OnKey
	p.none = widget.NewLabel("No reading has been accepted yet.")
	p.none.Alignment = fyne.TextAlignCenter
	p.arrange()
	return p
}

func (p *hipPage) arrange() {
	p.happened = widget.NewButton(say("hip.events"), p.w.askEvents)
	p.change = widget.NewButton(say("hip.change"), p.w.askHip)
	p.enter = widget.NewButton("Change …", func() { p.w.askReader(nil) })
	p.enter.Importance = widget.LowImportance
	results := widget.NewButton("Write results …", p.w.askResults)
	out := widget.NewButton("Print report …", p.w.print)
	side := panel(sideWidth, inset(p.facts), inset(p.change), inset(p.happened), p.events, inset(container.NewGridWithColumns(2, results, out)), p.missing,
		bold("Baseline film"), inset(p.baseline), bold("Readings that count"), inset(p.counts),
		container.NewBorder(nil, nil, nil, p.enter, p.reader), p.changes)
	films := container.NewBorder(bold("Films"), nil, nil, nil, p.films)
	readings := container.NewBorder(bold("Readings of all readers"), nil, nil, nil, container.NewStack(p.readings, container.NewCenter(p.none)))
	split := container.NewVSplit(films, readings)
	split.SetOffset(0.55)
	p.object = onGround(container.NewBorder(nil, nil, side, nil,
		container.NewBorder(p.w.hipHead(p.title), nil, nil, nil, container.New(layout.NewCustomPaddedLayout(0, 6, 8, 8), split))))
}

// listed returns the lines of a list below its title; none of an empty one.
func listed(title string, notes []study.Note) (lines []string) {
	for i, n := range notes {
		if i == 0 {
			lines = append(lines, title)
		}
		lines = append(lines, "– "+study.NoteWords(n))
	}
	return lines
}

// show mirrors the session's hip.
func (p *hipPage) show() {
	s := p.w.s
	h, _ := s.Hip()
	p.filling = true
	defer func() { p.filling = false }()
	p.title.Text = hipTitle(h)
	if h.Group != "" {
		p.title.Text += " · " + h.Group
	}
	p.title.Refresh()
	form, err := s.Book().Known()
	p.w.told(err)
	p.facts.Set(append(implantFigures(h), knownFigures(form)...))
	sum := s.Record().Summary(s.Book().Counts())
	p.missing.SetText(strings.Join(append(listed("To settle", slices.Concat(sum.Attention, sum.Doubts)), listed("Missing", sum.Missing)...), "\n"))
	show(p.missing, p.missing.Text != "")
	p.showChanges()
	p.showEvents()
	p.showBaseline(h)
	p.counts.show()
	who, do := "You read as "+s.Reader()+".", "Change …"
	if s.Reader() == "" {
		who, do = "Your reader's code is not entered yet.", "Enter …"
	}
	p.reader.SetText(who)
	if p.enter.Text != do {
		p.enter.SetText(do)
	}
	open := !s.Book().ReadOnly()
	for _, o := range []fyne.Disableable{p.change, p.happened, p.baseline, p.counts, p.enter} {
		enable(o, open)
	}
	p.showFilms()
	p.showReadings()
}

// showChanges lists who changed what of the hip, and when.
func (p *hipPage) showChanges() {
	lines, err := p.w.s.Book().Changes()
	text := "Changes of implant and dates"
	for _, l := range lines {
		text += "\n– " + l
	}
	if err != nil {
		text += "\n– not to be had: " + study.Told(err)
	}
	p.changes.SetText(text)
	show(p.changes, len(lines) > 0 || err != nil)
}

// showEvents lists what happened to the hip after surgery.
func (p *hipPage) showEvents() {
	events, err := p.w.s.Book().Events()
	lines := make([]string, 0, len(events))
	for _, e := range events {
		lines = append(lines, "– "+eventWords(e))
	}
	if err != nil {
		lines = []string{"not to be had: " + study.Told(err)}
	}
	p.events.SetText(strings.Join(lines, "\n"))
	show(p.events, len(lines) > 0)
}

func (p *hipPage) showBaseline(h study.Hip) {
	names := []string{"earliest film with outlines"}
	p.places = []string{""}
	at := 0
	for i, f := range p.w.s.Strip().Films() {
		if f.Draft == nil || f.State() == session.Excluded || !f.Dated() {
			continue
		}
		names, p.places = append(names, fmt.Sprintf("film %d, %s, %s", i+1, f.DateText(), yearsText(p.w.s, f))), append(p.places, f.ID)
		if f.ID == h.Baseline {
			at = len(names) - 1
		}
	}
	p.baseline.SetOptions(names)
	p.baseline.SetSelectedIndex(at)
}

func implantFigures(h study.Hip) []widgets.Figure {
	m := h.Implant
	or := func(v string) string {
		if v == "" {
			return "not known"
		}
		return v
	}
	size := func(v float64) (string, string) {
		if v == 0 {
			return "not known", ""
		}
		return number(v), "mm"
	}
	head, headUnit := size(m.HeadMM)
	liner, linerUnit := size(m.LinerMM)
	shell, shellUnit := size(m.ShellMM)
	return []widgets.Figure{
		{Name: "Operation", Head: true},
		{Name: "side", Value: h.Side.String()},
		{Name: "date of surgery", Value: h.Surgery.Format("2006-01-02")},
		{Name: "Head", Head: true},
		{Name: "diameter", Value: head, Unit: headUnit},
		{Name: "material", Value: or(study.Words(study.HeadMaterials(), m.HeadMaterial))},
		{Name: "Liner", Head: true},
		{Name: "thickness", Value: liner, Unit: linerUnit},
		{Name: "PE", Value: or(study.Words(study.PEKinds(), m.PE))},
		{Name: "Shell", Head: true},
		{Name: "outer diameter", Value: shell, Unit: shellUnit},
		{Name: "fixation", Value: or(study.Words(study.Fixations(), m.Fixation))},
		{Name: "Steady state", Head: true},
		{Name: "from year", Value: number(h.Start())},
	}
}

// knownFigures are further details of the hip and its patient: those that are known.
func knownFigures(f session.Form) (out []widgets.Figure) {
	shown := []string{"side", "surgery", "head_mm", "head_material", "liner_mm", "pe", "shell_mm", "fixation", "start_years", "patient", "group"}
	for _, b := range f.Blocks {
		head := false
		for _, a := range b.Asks {
			if a.Text == "" || slices.Contains(shown, a.Field) {
				continue
			}
			if !head {
				out, head = append(out, widgets.Figure{Name: b.Name, Head: true}), true
			}
			text := a.Text
			if a.Choices != nil {
				text = study.Words(a.Choices, a.Text)
			}
			out = append(out, widgets.Figure{Name: a.Label, Value: text, Unit: a.Unit})
		}
	}
	return out
}

func (p *hipPage) showFilms() {
	s := p.w.s
	var cells [][]widgets.Cell
	for i, f := range s.Strip().Films() {
		row := []widgets.Cell{
			{Text: strconv.Itoa(i+1) + " · " + f.DateText(), More: yearsText(s, f)},
			{Text: stateText(f), Color: stateColor(f.State()), More: standsText(f)},
			{Text: "–", Color: widgets.Muted}, {Text: filmNote(s, f), Color: widgets.Muted},
		}
		if q, ok := s.Penetration(f); ok {
			sup, _ := q.SE()
			row[2] = widgets.Cell{Text: mm(q.Superior) + " ± " + mm(sup) + " mm", More: "superior, ± 1 SE"}
			if s.Course().IsBaseline(f) {
				row[2] = widgets.Cell{Text: "baseline", Color: widgets.Muted}
			}
		}
		cells = append(cells, row)
	}
	p.films.Set(cells, s.Strip().SelectedIndex())
}

// standsText says whose reading of a film counts and how many there are.
func standsText(f *session.Film) string {
	if f.State() == session.Excluded {
		return study.ExclusionWords(f.Excluded.Code)
	}
	n := len(f.Readings)
	switch {
	case n == 0:
		return "no reading yet"
	case f.Accepted == nil:
		return fmt.Sprintf("%s, none of whom counts", study.Count(n, "reading"))
	case n == 1:
		return f.Accepted.At.Format("2006-01-02")
	}
	return fmt.Sprintf("%s, one of %s", f.Accepted.At.Format("2006-01-02"), study.Count(n, "reading"))
}

// filmNote is the most important thing about a film in a line.
func filmNote(s *session.Session, f *session.Film) string {
	switch f.State() {
	case session.Failed, session.Refused: // the state stands beside it
		return study.NoteWords(f.Reason)
	}
	if text := filmMessage(s, f); text != "" {
		return text
	}
	if d := s.Doubt(f); d != "" {
		return d
	}
	if list := s.Numbers(f).Warnings; len(list) > 0 {
		return study.WarningWords(list[0])
	}
	return ""
}

func (p *hipPage) showReadings() {
	s := p.w.s
	p.of = nil
	var cells [][]widgets.Cell
	record := s.Record()
	for i := len(record.Readings) - 1; i >= 0; i-- {
		r := record.Readings[i]
		f := s.Strip().ByID(r.FilmID)
		p.of = append(p.of, f.ID)
		cells = append(cells, []widgets.Cell{
			{Text: strconv.Itoa(slices.Index(s.Strip().Films(), f)+1) + " · " + f.DateText()},
			{Text: r.Reader},
			{Text: r.At.Local().Format("2006-01-02 15:04"), More: acceptedWith(r, record.Hip)},
			whereCell(s.AsNow(r)), standing(f, r),
		})
	}
	p.readings.Set(cells, -1)
	show(p.none, len(cells) == 0)
	show(p.readings, len(cells) > 0)
}

// acceptedWith says with which program a reading was accepted, and with which head where
// the hip has another now.
func acceptedWith(r study.Reading, h study.Hip) string {
	text := "program " + r.Version
	if r.Status == study.Measured && r.HeadMM != h.Implant.HeadMM {
		text += fmt.Sprintf(", head of %s mm", number(r.HeadMM))
	}
	return text
}

// whereCell tells where the head lies in the cup.
func whereCell(m study.Measurement) widgets.Cell {
	if m.Status != study.Measured {
		return widgets.Cell{Text: string(m.Status), More: study.NoteWords(m.Reason)}
	}
	sup, med := m.Reading.Offset.SE()
	return widgets.Cell{Text: fmt.Sprintf("superior %s ± %s mm", mm(m.Reading.Offset.Superior), mm(sup)),
		More: fmt.Sprintf("medial %s ± %s mm", mm(m.Reading.Offset.Medial), mm(med))}
}

// standing says what became of a reading.
func standing(f *session.Film, r study.Reading) widgets.Cell {
	if w := r.Withdrawn; w != nil {
		return widgets.Cell{Text: "withdrawn, kept", More: w.At.Local().Format("2006-01-02 15:04") + " by " + w.Reader, Color: widgets.Muted}
	}
	for _, later := range f.Readings {
		if later.Supersedes == r.ID && later.Stands() {
			return widgets.Cell{Text: "replaced, kept", More: "by a later one of " + later.Reader, Color: widgets.Muted}
		}
	}
	switch {
	case f.Accepted == nil || !slices.Contains(f.Accepted.IDs(), r.ID):
		return widgets.Cell{Text: "kept", More: "another reading counts", Color: widgets.Muted}
	case f.State() == session.Excluded:
		return widgets.Cell{Text: "kept", More: "the film is left out", Color: widgets.Muted}
	case len(f.Accepted.Of) > 0:
		return widgets.Cell{Text: "counts", More: "in a mean of readings", Color: widgets.Good}
	}
	return widgets.Cell{Text: "counts", Color: widgets.Good}
}

func (p *hipPage) heard(session.Change) { p.show() }

func (p *hipPage) keys() []keyRow {
	s := p.w.s
	return append([]keyRow{
		{does: "film before, film after", keys: []key{
			named("Up", func() { s.Strip().Step(-1) }, fyne.KeyUp), named("Down", func() { s.Strip().Step(1) }, fyne.KeyDown),
		}},
	}, p.w.stepRows()...)
}
