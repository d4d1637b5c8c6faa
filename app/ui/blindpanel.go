package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
)

// blindPanel stands beside the film of a list that is read: how far the list is, the film's
// quality, and the decision.
type blindPanel struct {
	object  fyne.CanvasObject
	w       *window
	title   *widget.Label
	hip     *widget.Label
	message *widget.Label
	grades  []*widget.Button
	reason  *passingSelect
	figures *widgets.Figures
	accept  *widget.Button
	refine  *widget.Button
	discard *widget.Button
	exclude *widget.Button
	off     *widget.Button
	filling bool
	graded  int // place of the list whose grade is shown
}

func newBlindPanel(w *window) *blindPanel {
	p := &blindPanel{w: w, figures: widgets.NewFigures(), hip: note(""), message: widget.NewLabel("")}
	p.title = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.message.Wrapping = fyne.TextWrapWord
	then := func(f func()) func() { return func() { f(); w.focusViewer() } }
	grades := container.NewGridWithColumns(len(study.Qualities()))
	for _, q := range study.Qualities() {
		b := widget.NewButton(q.Code, then(func() { w.told(w.s.Blind().SetGrade(q.Code, p.reasonCode())) }))
		p.grades = append(p.grades, b)
		grades.Add(b)
	}
	p.reason = newSelect(w, reasonWords(), func(string) { p.regrade() })
	p.reason.PlaceHolder = texts.Say("blind.no-reason", nil)
	p.refine = widget.NewButton(say("button.refine-both"), then(w.s.Edits().RefineBoth))
	p.discard = widget.NewButton(say("button.discard"), then(w.s.Edits().Discard))
	p.exclude = widget.NewButton(texts.Say("blind.cannot-button", nil), p.askExclude)
	p.off = widget.NewButton(texts.Say("blind.off-button", nil), p.putOff)
	p.accept = widget.NewButton(say("button.accept"), w.acceptListed)
	p.accept.Importance = widget.HighImportance
	var said []fyne.CanvasObject
	for _, q := range study.Qualities() {
		said = append(said, note(q.Words))
	}
	head := container.NewVBox(p.title, p.hip, p.message, widget.NewSeparator(), bold(texts.Say("blind.quality", nil)), inset(grades), inset(p.reason),
		container.New(layout.NewCustomPaddedVBoxLayout(-8), said...))
	foot := inset(container.New(layout.NewCustomPaddedVBoxLayout(4), widget.NewSeparator(),
		container.NewGridWithColumns(2, p.refine, p.discard, p.exclude, p.off), p.accept))
	back := canvas.NewRectangle(widgets.Surface)
	back.SetMinSize(fyne.NewSize(sideWidth, 0))
	p.object = container.NewStack(back, container.New(layout.NewCustomPaddedLayout(6, 8, 4, 4),
		container.NewBorder(head, foot, nil, nil, container.NewVScroll(inset(p.figures)))))
	return p
}

func reasonWords() (out []string) {
	out = append(out, texts.Say("blind.no-reason", nil))
	for _, r := range study.GradeReasons() {
		out = append(out, r.Words)
	}
	return out
}

// reasonCode is the code of the reason that is chosen; empty for none.
func (p *blindPanel) reasonCode() string {
	if i := p.reason.SelectedIndex(); i > 0 {
		return study.GradeReasons()[i-1].Code
	}
	return ""
}

// regrade gives the grade that was chosen its reason.
func (p *blindPanel) regrade() {
	if g := p.w.s.Blind().Grade(); !p.filling && g.Quality != "" {
		p.w.told(p.w.s.Blind().SetGrade(g.Quality, p.reasonCode()))
	}
	p.w.focusViewer()
}

// putOff puts the film off, and says how it is got back.
func (p *blindPanel) putOff() {
	_, over := p.w.s.Blind().Over()
	err := p.w.s.Blind().PutAside()
	if p.w.told(err); err == nil && !over {
		p.w.s.Say("%s", texts.Say("blind.was-put-off", nil))
	}
	p.w.focusViewer()
}

// askExclude asks why the film cannot be read.
func (p *blindPanel) askExclude() {
	if _, over := p.w.s.Blind().Over(); over {
		return
	}
	var d *dialog.CustomDialog
	column := container.New(layout.NewCustomPaddedVBoxLayout(2))
	for _, c := range study.ExclusionCodes() {
		if c.Code == study.DoubleCode {
			continue // nothing that its reader could tell
		}
		b := widget.NewButton(c.Words, func() {
			d.Hide()
			p.w.told(p.w.s.Blind().Exclude(c.Code, ""))
			p.w.focusViewer()
		})
		b.Alignment = widget.ButtonAlignLeading
		column.Add(b)
	}
	d = dialog.NewCustom(texts.Say("blind.cannot", nil), texts.Say("button.go-back", nil), column, p.w.win)
	d.SetOnClosed(p.w.focusViewer)
	d.Resize(fyne.NewSize(460, 320))
	p.w.present(d)
}

func (p *blindPanel) show() {
	s, l := p.w.s, p.w.s.Blind()
	f := s.Strip().Selected()
	over := overText(l)
	p.title.SetText(progressWords(l))
	h, _ := s.Hip()
	p.hip.SetText(texts.Say("blind.hip", texts.Values{"Side": h.Side.String(), "Head": fmt.Sprint(h.Implant.HeadMM)}))
	show(p.hip, over == "")
	text := over
	if text == "" && f != nil {
		text = blindMessage(s, f)
	}
	p.message.SetText(text)
	show(p.message, text != "")
	g := l.Grade()
	for i, q := range study.Qualities() {
		p.grades[i].Importance = widget.MediumImportance // seen to be a button
		if q.Code == g.Quality {
			p.grades[i].Importance = widget.HighImportance
		}
		p.grades[i].Refresh()
		enable(p.grades[i], f != nil && f.Pixels() != nil && !(l.NumbersShown()))
	}
	if g.Quality == "" && g.Reason == "" && p.reason.SelectedIndex() > 0 && p.graded != l.Place() {
		p.filling = true
		p.reason.SetSelectedIndex(0)
		p.filling = false
	}
	p.graded = l.Place()
	p.figures.Set(nil)
	if f != nil && l.NumbersShown() {
		p.figures.Set(figures(s, f))
	}
	drawn := f != nil && f.Draft != nil && f.Pixels() != nil
	enable(p.refine, drawn)
	enable(p.discard, drawn && f.State() == session.Edited)
	enable(p.exclude, over == "")
	enable(p.off, over == "")
	enable(p.accept, drawn && g.Quality != "" && s.Numbers(f).Err == nil)
}

// blindMessage explains a film of a list that has no reading yet.
func blindMessage(s *session.Session, f *session.Film) string {
	switch st := f.State(); {
	case f.Unreadable():
		return texts.Say("blind.unreadable", texts.Values{"Why": study.NoteWords(f.Reason)})
	case st < session.Loaded:
		return say("blind.being-opened")
	case st == session.Searching:
		return say("blind.being-searched")
	case st == session.Refused:
		return texts.Say("blind.draw", texts.Values{"Why": study.NoteWords(f.Reason)})
	}
	if n := s.Numbers(f); n.Err != nil {
		return say("panel.no-reading", "Why", study.Told(n.Err))
	}
	return ""
}
