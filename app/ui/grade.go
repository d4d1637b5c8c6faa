package ui

import (
	"errors"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// gradeAsk asks how good the selected film is, before its numbers are shown.
type gradeAsk struct {
	object fyne.CanvasObject
	w      *window
	reason *passingSelect
	film   *session.Film // that is asked for
}

func newGradeAsk(w *window) *gradeAsk {
	a := &gradeAsk{w: w}
	row := container.NewGridWithColumns(len(study.Qualities()))
	for _, q := range study.Qualities() {
		row.Add(widget.NewButton(q.Words, func() { a.give(q.Code); w.focusViewer() }))
	}
	a.reason = newSelect(w, reasonWords(), func(string) { w.focusViewer() })
	a.object = container.NewVBox(bold(say("grade.first")), row, a.reason)
	return a
}

// show asks where f is to be graded.
func (a *gradeAsk) show(f *session.Film) {
	show(a.object, f != nil && f.Pixels() != nil && a.w.s.GradeDue(f))
	if a.film != f {
		a.film = f
		a.reason.SetSelectedIndex(0)
	}
}

// give grades the film. Who reads and where that is kept is asked first where it is not known.
func (a *gradeAsk) give(quality string) {
	f := a.w.s.Strip().Selected()
	if f == nil || !a.w.s.GradeDue(f) {
		return
	}
	reason := ""
	if i := a.reason.SelectedIndex(); i > 0 {
		reason = study.GradeReasons()[i-1].Code
	}
	err := a.w.s.SetGrade(quality, reason)
	if errors.Is(err, session.ErrNoReader) || errors.Is(err, session.ErrNoStudy) {
		a.w.askWhere(say("button.go-on"), func() { a.w.told(a.w.s.SetGrade(quality, reason)) })
		return
	}
	a.w.told(err)
}
