package ui

import (
	"cmp"
	"errors"
	"slices"
	"strings"

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

// side is the panel of numbers and the decision.
type side struct {
	object fyne.CanvasObject
	w      *window

	hips    *hipSelect
	steps   *hipSteps
	hip     *widget.Label
	implant *widget.Label
	change  *widget.Button

	film    *widget.Label
	doubt   *fyne.Container
	doubted *widget.Label
	state   *canvas.Text
	dot     *canvas.Circle
	message *widget.Label
	actions *fyne.Container
	grade   *gradeAsk
	figures *widgets.Figures
	first   *remarks // on the outlines: to be looked at before accepting
	after   *remarks // on the file, the method and the series

	refine, accept, discard *widget.Button
	hand, remove, enter     *widget.Button
	date, edges, look       *widget.Button
	exclude, again, details *widget.Button
	filling                 bool // hips is being filled, not chosen from
}

const sideWidth = 330

func newSide(w *window) *side {
	p := &side{w: w, figures: widgets.NewFigures()}
	p.hips = newHipSelect(w, p.chooseHip)
	p.steps = newHipSteps(w)
	p.hip = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.hip.Truncation = fyne.TextTruncateEllipsis
	p.implant = note("")
	p.change = widget.NewButton(say("panel.change"), w.askHip)
	p.change.Importance = widget.LowImportance
	p.film = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.film.Truncation = fyne.TextTruncateEllipsis
	p.state = canvas.NewText("", widgets.Muted)
	p.state.TextSize = 12.5
	p.dot = canvas.NewCircle(widgets.Muted)
	p.message = widget.NewLabel("")
	p.message.Wrapping = fyne.TextWrapWord
	p.first, p.after = newRemarks(say("panel.look-first"), widgets.Watch), newRemarks(say("panel.remarks"), nil)
	p.grade = newGradeAsk(w)
	p.buttons()
	p.object = p.arrange()
	return p
}

func (p *side) buttons() {
	w := p.w
	then := func(f func()) func() { return func() { f(); w.focusViewer() } }
	p.refine = widget.NewButton(say("button.refine-both"), then(w.s.Edits().RefineBoth))
	p.accept = widget.NewButton(say("button.accept"), w.accept)
	p.accept.Importance = widget.HighImportance
	p.discard = widget.NewButton(say("button.discard"), then(w.s.Edits().Discard))
	p.discard.Importance = widget.LowImportance
	p.hand = widget.NewButton(say("panel.draw-hand"), then(w.s.Edits().DrawByHand))
	p.remove = widget.NewButton(say("panel.take-out-strip"), then(func() { w.s.Strip().Remove(w.s.Strip().SelectedIndex()) }))
	p.date = widget.NewButton(say("panel.enter-film-date"), w.showFacts)
	p.edges = widget.NewButton(say("panel.tell-how-patient"), w.askEdges)
	p.enter = widget.NewButton(say("panel.enter-implant-dates"), w.askHip)
	p.enter.Importance = widget.HighImportance
	p.again = widget.NewButton(say("button.try-again"), then(func() { w.s.Work().Retry(w.s.Strip().Selected()) }))
	p.look = widget.NewButton(say("button.look-elsewhere"), w.lookIn)
	p.exclude = widget.NewButton(say("button.leave-out"), w.askExclude)
	p.details = widget.NewButton(say("panel.details"), p.w.showFacts)
	p.details.Importance = widget.LowImportance
	p.exclude.Importance = widget.LowImportance
	p.doubted = widget.NewLabel("")
	p.doubted.Wrapping = fyne.TextWrapWord
	edge := canvas.NewRectangle(widgets.Fault)
	edge.SetMinSize(fyne.NewSize(3, 0))
	title := bold(say("ask.magnification"))
	p.doubt = container.NewStack(canvas.NewRectangle(widgets.Raised), container.NewBorder(nil, nil, edge, nil,
		container.New(layout.NewCustomPaddedVBoxLayout(-4), title, p.doubted, widget.NewButton(say("button.check-head"), w.askHip))))
	p.actions = container.NewVBox(p.enter, p.date, p.edges, p.hand, p.again, p.look, p.remove)
}

func (p *side) arrange() fyne.CanvasObject {
	dot := container.NewCenter(container.NewGridWrap(fyne.NewSize(8, 8), p.dot))
	head := container.New(layout.NewCustomPaddedVBoxLayout(0),
		container.NewBorder(nil, nil, nil, p.change, container.NewStack(p.hips, newTipped(p.w, p.hip, func() string { return p.w.wholeHip(p.hip.Text) }))), p.steps.object, p.implant,
		widget.NewSeparator(), container.NewBorder(nil, nil, nil, p.details, p.film), inset(container.NewHBox(dot, p.state)), p.message, inset(p.grade.object), container.New(layout.NewCustomPaddedLayout(4, 4, 8, 8), p.actions), inset(p.doubt))
	body := container.NewVScroll(container.New(layout.NewCustomPaddedVBoxLayout(0),
		p.first.object, inset(p.figures), p.after.object))
	foot := inset(container.New(layout.NewCustomPaddedVBoxLayout(4),
		widget.NewSeparator(), container.NewGridWithColumns(3, p.refine, p.discard, p.exclude), p.accept))
	back := canvas.NewRectangle(widgets.Surface)
	back.SetMinSize(fyne.NewSize(sideWidth, 0))
	return container.NewStack(back, container.New(layout.NewCustomPaddedLayout(6, 8, 4, 4),
		container.NewBorder(head, foot, nil, nil, body)))
}

func (p *side) show() {
	p.showHip()
	f := p.w.s.Strip().Selected()
	p.grade.show(f)
	if f == nil {
		p.film.SetText(say("panel.no-film-selected"))
		p.state.Text = ""
		p.dot.Hide()
		p.state.Refresh()
		p.message.Hide()
		p.figures.Set(nil)
		p.first.set(nil)
		p.after.set(nil)
	} else {
		p.showFilm(f)
	}
	p.showButtons(f)
}

func (p *side) showHip() {
	h, known := p.w.s.Hip()
	p.steps.show()
	show(p.hips, known && len(p.w.s.Book().Hips()) > 1) // it names the hip that is open
	show(p.hip, !p.hips.Visible())
	show(p.change, known)
	if !known {
		p.showUnknown()
		return
	}
	p.hip.SetText(hipTitleIn(h, p.titleWidth()))
	p.implant.SetText(say("panel.implant-surgery", "Implant", implantText(h), "Date", h.Surgery.Format("2006-01-02")))
	p.filling = true
	p.hips.set(p.w.s.Book().Hips(), h, p.titleWidth())
	p.filling = false
}

// showUnknown says whose the films are, as their files say, of which nobody has told it yet.
func (p *side) showUnknown() {
	title, says := say("panel.hip-not-entered"), ""
	if k := p.w.s.Claimed(); k.Patient != "" {
		title = hipTitleIn(study.Hip{Patient: k.Patient, Side: k.Side}, sideWidth-4*theme.InnerPadding())
		says = say("panel.files-say") + " "
	}
	p.hip.SetText(title)
	p.implant.SetText(say("panel.needed", "Says", says))
}

// titleWidth is the room for the hip's title.
func (p *side) titleWidth() float32 {
	return sideWidth - p.change.MinSize().Width - 4*theme.InnerPadding()
}

// chooseHip opens another hip of the study file.
func (p *side) chooseHip(string) {
	i := p.hips.SelectedIndex()
	if p.filling || i < 0 || i >= len(p.hips.hips) {
		return
	}
	if h, cur := p.hips.hips[i], p.open(); h.ID != cur {
		p.w.leave(func() {
			p.w.openHip(h.ID, p.w.focusViewer)
		})
		p.showHip() // the one shown stays chosen until the other is open
	}
}

// open is the ID of the hip that is open.
func (p *side) open() string {
	h, _ := p.w.s.Hip()
	return h.ID
}

func (p *side) showFilm(f *session.Film) {
	s := p.w.s
	p.film.SetText(say("panel.film-of", "N", s.Strip().SelectedIndex()+1, "Of", len(s.Strip().Films()), "Date", f.DateText()))
	p.state.Text, p.state.Color = stateText(f), stateColor(f.State())
	if y := yearsText(s, f); y != "" {
		p.state.Text += " · " + y
	}
	if g := s.Grade(f); g.Quality != "" {
		p.state.Text += " · " + study.ChoiceIn(texts.Say, "grade", strings.ToLower(g.Quality))
	}
	p.dot.FillColor = p.state.Color
	p.dot.Show()
	p.dot.Refresh()
	p.state.Refresh()
	text := filmMessage(s, f)
	p.message.SetText(text)
	show(p.message, text != "")
	p.figures.Set(figures(s, f))
	first, after := p.remarks(f)
	p.first.set(first)
	p.after.set(after)
}

// filmMessage explains a film without a reading, and what to do.
func filmMessage(s *session.Session, f *session.Film) string {
	switch f.State() {
	case session.Excluded:
		return excludedText(f)
	case session.Failed:
		if f.Lost() {
			return lostText(f)
		}
		return say("panel.file-could-not", "Why", study.NoteWords(f.Reason))
	case session.Refused:
		text := say("panel.nothing-proposed-draw", "Why", study.NoteWords(f.Reason), "LookedFor", lookedFor(s, f))
		if n, _ := s.Edits().Proposals(f); n > 0 {
			text += " " + say("panel.goes-through-search", "N", n)
		}
		return text
	case session.Searching:
		return say("panel.head-cup-being")
	case session.Loading, session.Waiting:
		return say("panel.file-being-opened")
	case session.Loaded:
		if _, known := s.Hip(); known {
			return say("panel.search-stopped")
		}
		return ""
	}
	if f.Unreadable() {
		return lostText(f)
	}
	if n := s.Numbers(f); errors.Is(n.Err, session.ErrNoGrade) {
		return "" // which is asked
	} else if n.Err != nil {
		return say("panel.no-reading", "Why", study.Told(n.Err))
	}
	return ""
}

// lostText says what to do about a film whose file cannot be read any more.
func lostText(f *session.Film) string {
	text := say("panel.film-file-not", "Why", study.NoteWords(f.Reason)) + " "
	if f.Accepted != nil {
		text += say("panel.accepted-reading-stands") + " "
	}
	if !f.Lost() {
		return say("panel.mend-or-replace", "Text", text)
	}
	return say("panel.moved-look-another", "Text", text)
}

// spoils reports whether there is no trend because of f.
func spoils(f *session.Film, err error) bool {
	var named *study.FilmError
	return errors.As(err, &named) && slices.Contains(named.Films, f.Name())
}

// The widest and the narrowest that a film of the pelvis can be, mm: no cassette is longer than
// those for whole legs, some 1300 mm, and none shows a hip on less than a few heads.
const widestMM, narrowestMM = 1500, 75

// lookedFor asks for the spacing and the diameter by which the search knows a head: with a
// wrong one it finds nothing.
func lookedFor(s *session.Session, f *session.Film) string {
	h, known := s.Hip()
	if !known || s.View(f) == study.Lateral || !study.NothingFound(f.Reason) { // on a lateral film one hip may hide the other
		return ""
	}
	if px := f.Pixels(); px != nil {
		spacing := cmp.Or(f.Imager, f.Facts.SpacingMM)
		if wide := spacing * float64(px.Rect.Dx()); spacing > 0 && (wide > widestMM || wide < narrowestMM) {
			return say("panel.file-states-mm", "Spacing", spacing, "Wide", wide/1000) + " "
		}
	}
	return say("panel.head-mm-looked", "HeadMM", h.Implant.HeadMM) + " "
}

func (p *side) showButtons(f *session.Film) {
	s := p.w.s
	_, known := s.Hip()
	st, drawn, read, pixels := session.Waiting, false, false, false
	if f != nil {
		st, drawn, read, pixels = f.State(), f.Draft != nil, s.Numbers(f).Err == nil, f.Pixels() != nil
	}
	show(p.enter, !known && len(s.Strip().Films()) > 0 && st != session.Failed)
	show(p.date, known && pixels && !f.Dated())
	show(p.edges, known && pixels && edgesNeeded(s, f))
	show(p.hand, known && pixels && !drawn && (st == session.Refused || st == session.Loaded))
	_, trendErr := s.Trend()
	show(p.remove, f != nil && f.Accepted == nil &&
		(st == session.Failed || st == session.Refused || read && (spoils(f, trendErr) || s.Course().Unjoined(f))))
	show(p.again, st == session.Failed || f != nil && f.Unreadable())
	show(p.look, f != nil && f.Lost())
	doubt := ""
	if f != nil {
		doubt = s.Doubt(f)
	}
	show(p.doubt, doubt != "")
	p.doubted.SetText(doubt)
	enable(p.details, f != nil)
	open := !s.Book().ReadOnly()
	enable(p.change, open)
	enable(p.exclude, open && known && pixels)
	out := say("button.leave-out")
	if st == session.Excluded {
		out = say("panel.take-back")
	}
	if p.exclude.Text != out {
		p.exclude.SetText(out)
	}
	enable(p.refine, drawn && pixels)
	enable(p.discard, st == session.Edited)
	enable(p.accept, open && read && st != session.Accepted && st != session.Excluded)
	text := say("button.accept")
	switch {
	case st == session.Accepted:
		text = say("panel.accepted")
	case st == session.Edited && f.Accepted != nil:
		text = say("panel.accept-as-new")
	}
	if p.accept.Text != text {
		p.accept.SetText(text)
	}
}

func show(o fyne.CanvasObject, on bool) {
	if on == o.Visible() {
		return
	}
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

func enable(o fyne.Disableable, on bool) {
	if on == !o.Disabled() {
		return
	}
	if on {
		o.Enable()
	} else {
		o.Disable()
	}
}
