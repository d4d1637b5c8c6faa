package ui

import (
	"errors"
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// side is the panel of numbers and the decision.
type side struct {
	object fyne.CanvasObject
	w      *window

	hips    *widget.Select
	hip     *widget.Label
	implant *widget.Label
	change  *widget.Button

	film     *widget.Label
	doubt    *fyne.Container
	doubted  *widget.Label
	state    *canvas.Text
	dot      *canvas.Circle
	message  *widget.Label
	actions  *fyne.Container
	figures  *widgets.Figures
	warnings *fyne.Container
	said     []string

	refine, accept, discard *widget.Button
	hand, remove, enter     *widget.Button
	date                    *widget.Button
	exclude, again, details *widget.Button
	filling                 bool // hips is being filled, not chosen from
}

const sideWidth = 330

func newSide(w *window) *side {
	p := &side{w: w, figures: widgets.NewFigures()}
	p.hips = widget.NewSelect(nil, p.chooseHip)
	p.hip = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.hip.Truncation = fyne.TextTruncateEllipsis
	p.implant = note("")
	p.change = widget.NewButton("Change", w.askHip)
	p.change.Importance = widget.LowImportance
	p.film = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.film.Truncation = fyne.TextTruncateEllipsis
	p.state = canvas.NewText("", widgets.Muted)
	p.state.TextSize = 12.5
	p.dot = canvas.NewCircle(widgets.Muted)
	p.message = widget.NewLabel("")
	p.message.Wrapping = fyne.TextWrapWord
	p.warnings = container.New(layout.NewCustomPaddedVBoxLayout(0))
	p.buttons()
	p.object = p.arrange()
	return p
}

func (p *side) buttons() {
	w := p.w
	then := func(f func()) func() { return func() { f(); w.focusViewer() } }
	p.refine = widget.NewButton("Refine both", then(w.s.RefineBoth))
	p.accept = widget.NewButton("Accept reading", w.accept)
	p.accept.Importance = widget.HighImportance
	p.discard = widget.NewButton("Discard", then(w.s.Discard))
	p.discard.Importance = widget.LowImportance
	p.hand = widget.NewButton("Draw by hand", then(w.s.DrawByHand))
	p.remove = widget.NewButton("Take out of the strip", then(func() { w.s.Remove(w.s.SelectedIndex()) }))
	p.date = widget.NewButton("Enter the film's date", w.showFacts)
	p.enter = widget.NewButton("Enter implant and dates", w.askHip)
	p.enter.Importance = widget.HighImportance
	p.again = widget.NewButton("Try again", then(func() { w.s.Retry(w.s.Selected()) }))
	p.exclude = widget.NewButton("Leave out …", w.askExclude)
	p.details = widget.NewButton("Details", p.w.showFacts)
	p.details.Importance = widget.LowImportance
	p.exclude.Importance = widget.LowImportance
	p.doubted = widget.NewLabel("")
	p.doubted.Wrapping = fyne.TextWrapWord
	edge := canvas.NewRectangle(widgets.Fault)
	edge.SetMinSize(fyne.NewSize(3, 0))
	title := bold("Implausible magnification")
	p.doubt = container.NewStack(canvas.NewRectangle(widgets.Raised), container.NewBorder(nil, nil, edge, nil,
		container.New(layout.NewCustomPaddedVBoxLayout(-4), title, p.doubted, widget.NewButton("Check the head diameter", w.askHip))))
	p.actions = container.NewVBox(p.enter, p.date, p.hand, p.again, p.remove)
}

func (p *side) arrange() fyne.CanvasObject {
	dot := container.NewCenter(container.NewGridWrap(fyne.NewSize(8, 8), p.dot))
	head := container.New(layout.NewCustomPaddedVBoxLayout(0),
		container.NewBorder(nil, nil, nil, p.change, container.NewStack(p.hips, p.hip)), p.implant,
		widget.NewSeparator(), container.NewBorder(nil, nil, nil, p.details, p.film), inset(container.NewHBox(dot, p.state)), p.message, container.New(layout.NewCustomPaddedLayout(4, 4, 8, 8), p.actions), inset(p.doubt))
	body := container.NewVScroll(container.New(layout.NewCustomPaddedVBoxLayout(0),
		inset(p.figures), p.warnings))
	foot := inset(container.New(layout.NewCustomPaddedVBoxLayout(4),
		widget.NewSeparator(), container.NewGridWithColumns(3, p.refine, p.discard, p.exclude), p.accept))
	back := canvas.NewRectangle(widgets.Surface)
	back.SetMinSize(fyne.NewSize(sideWidth, 0))
	return container.NewStack(back, container.New(layout.NewCustomPaddedLayout(6, 8, 4, 4),
		container.NewBorder(head, foot, nil, nil, body)))
}

func (p *side) show() {
	p.showHip()
	f := p.w.s.Selected()
	if f == nil {
		p.film.SetText("No film selected")
		p.state.Text = ""
		p.dot.Hide()
		p.state.Refresh()
		p.message.Hide()
		p.figures.Set(nil)
		p.showWarnings(nil)
	} else {
		p.showFilm(f)
	}
	p.showButtons(f)
}

func (p *side) showHip() {
	h, known := p.w.s.Hip()
	show(p.hips, len(p.w.s.Hips()) > 1)
	show(p.hip, !p.hips.Visible())
	show(p.change, known)
	if !known {
		p.hip.SetText("Hip not entered yet")
		p.implant.SetText("Head diameter, side and date of surgery are needed before anything is measured.")
		return
	}
	p.hip.SetText(hipTitle(h))
	p.implant.SetText(implantText(h) + "\nsurgery " + h.Surgery.Format("2006-01-02"))
	p.filling = true
	var names []string
	for _, g := range p.w.s.Hips() {
		names = append(names, hipTitle(g))
	}
	if !slices.Equal(names, p.hips.Options) {
		p.hips.SetOptions(names)
	}
	if t := hipTitle(h); p.hips.Selected != t {
		p.hips.SetSelected(t)
	}
	p.filling = false
}

// chooseHip opens another hip of the study file.
func (p *side) chooseHip(title string) {
	if p.filling {
		return
	}
	for _, h := range p.w.s.Hips() {
		if cur, _ := p.w.s.Hip(); hipTitle(h) == title && h.ID != cur.ID {
			p.w.leave(func() {
				p.w.told(p.w.s.OpenHip(h.ID))
				p.w.focusViewer()
			})
			p.showHip() // the one shown stays chosen until the other is open
			return
		}
	}
}

func (p *side) showFilm(f *session.Film) {
	s := p.w.s
	p.film.SetText(fmt.Sprintf("Film %d of %d · %s", s.SelectedIndex()+1, len(s.Films()), f.DateText()))
	p.state.Text, p.state.Color = stateText(f), stateColor(f.State())
	if y := yearsText(s, f); y != "" {
		p.state.Text += " · " + y
	}
	p.dot.FillColor = p.state.Color
	p.dot.Show()
	p.dot.Refresh()
	p.state.Refresh()
	text := filmMessage(s, f)
	p.message.SetText(text)
	show(p.message, text != "")
	p.figures.Set(figures(s, f))
	n := s.Numbers(f)
	list := study.Texts(n.Remarks())
	if t, err := s.Trend(); err != nil {
		if n.Err == nil && spoils(f, err) {
			list = append(list, study.Plain(err))
		}
	} else {
		list = append(list, t.Warnings...)
	}
	p.showWarnings(list)
}

// filmMessage explains a film without a reading, and what to do.
func filmMessage(s *session.Session, f *session.Film) string {
	switch f.State() {
	case session.Excluded:
		return excludedText(f)
	case session.Failed:
		return "The file could not be read: " + f.Reason + ". Mend or replace the file and try again, or take it out; the other films are not touched by it."
	case session.Refused:
		text := "Nothing is proposed: " + f.Reason + ". " + lookedFor(s) + "Draw head and cup by hand (A, three clicks each), or take the film out."
		if n, _ := s.Proposals(f); n > 0 {
			text += fmt.Sprintf(" 2 goes through the %d that the search weighed.", n)
		}
		return text
	case session.Searching:
		return "Head and cup are being looked for; what is found is proposed here."
	case session.Loading, session.Waiting:
		return "The file is being opened."
	case session.Loaded:
		if _, known := s.Hip(); known {
			return "The search was stopped."
		}
		return ""
	}
	if f.Unreadable() {
		return "The film's file is not to be had (" + f.Reason + "). The accepted reading stands."
	}
	if n := s.Numbers(f); n.Err != nil {
		return "No reading: " + study.Plain(n.Err) + "."
	}
	return ""
}

// spoils reports whether there is no trend because of f.
func spoils(f *session.Film, err error) bool {
	var named *study.FilmError
	return errors.As(err, &named) && slices.Contains(named.Films, f.Name())
}

// lookedFor asks for the diameter by which the search knows a head: with a wrong one
// it finds nothing.
func lookedFor(s *session.Session) string {
	h, known := s.Hip()
	if !known {
		return ""
	}
	return fmt.Sprintf("A head of %g mm was looked for: is that its diameter? ", h.Implant.HeadMM)
}

func (p *side) showWarnings(list []string) {
	if slices.Equal(list, p.said) && len(p.warnings.Objects) > 0 == (len(list) > 0) {
		return
	}
	p.said = list
	p.warnings.Objects = nil
	if len(list) > 0 {
		p.warnings.Add(bold("Remarks"))
	}
	for _, text := range list {
		l := note("– " + text)
		l.Importance = widget.MediumImportance
		l.SizeName = theme.SizeNameCaptionText
		p.warnings.Add(l)
	}
	p.warnings.Refresh()
}

func (p *side) showButtons(f *session.Film) {
	s := p.w.s
	_, known := s.Hip()
	st, drawn, read, pixels := session.Waiting, false, false, false
	if f != nil {
		st, drawn, read, pixels = f.State(), f.Draft != nil, s.Numbers(f).Err == nil, f.Pixels() != nil
	}
	show(p.enter, !known && len(s.Films()) > 0 && st != session.Failed)
	show(p.date, known && pixels && !f.Dated())
	show(p.hand, known && pixels && !drawn && (st == session.Refused || st == session.Loaded))
	_, trendErr := s.Trend()
	show(p.remove, f != nil && f.Accepted == nil &&
		(st == session.Failed || st == session.Refused || read && spoils(f, trendErr)))
	show(p.again, st == session.Failed || f != nil && f.Unreadable())
	doubt := ""
	if f != nil {
		doubt = s.Doubt(f)
	}
	show(p.doubt, doubt != "")
	p.doubted.SetText(doubt)
	enable(p.details, f != nil)
	enable(p.exclude, known && pixels)
	out := "Leave out …"
	if st == session.Excluded {
		out = "Take back in"
	}
	if p.exclude.Text != out {
		p.exclude.SetText(out)
	}
	enable(p.refine, drawn && pixels)
	enable(p.discard, st == session.Edited)
	enable(p.accept, read && st != session.Accepted && st != session.Excluded)
	text := "Accept reading"
	switch {
	case st == session.Accepted:
		text = "Accepted"
	case st == session.Edited && f.Accepted != nil:
		text = "Accept as a new reading"
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
