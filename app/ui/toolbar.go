package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/ui/widgets"
)

// toolbar holds what is done with the whole view.
type toolbar struct {
	object     fyne.CanvasObject
	w          *window
	undo, redo *widget.Button
	head, cup  *widget.Button
	needFilm   []*widget.Button
}

func newToolbar(w *window) *toolbar {
	b := &toolbar{w: w}
	plain := func(text string, tap func()) *widget.Button {
		btn := widget.NewButton(text, func() { tap(); w.focusViewer() })
		btn.Importance = widget.LowImportance
		return btn
	}
	film := func(text string, tap func()) *widget.Button {
		btn := plain(text, tap)
		b.needFilm = append(b.needFilm, btn)
		return btn
	}
	b.undo, b.redo = plain("Undo", w.s.Undo), plain("Redo", w.s.Redo)
	b.head = film("Head", func() { w.s.SetPart(session.Head) })
	b.cup = film("Cup", func() { w.s.SetPart(session.Cup) })
	row := container.New(layout.NewCustomPaddedHBoxLayout(2),
		plain("Open folder", w.openFolder), plain("Open film", w.openFilm), plain("Open study", w.openStudy),
		widget.NewSeparator(), b.undo, b.redo,
		widget.NewSeparator(), b.head, b.cup, film("Refine", w.s.Refine),
		widget.NewSeparator(),
		film("Whole film", w.s.ShowFilm), film("Hip", w.s.ShowHip), film("1:1", w.s.ShowPixels),
		widget.NewSeparator(),
		film("Invert", w.s.ToggleInvert), film("Metal greys", w.s.ShowMetal), film("Film greys", w.s.ResetLevel),
		film("Outlines", func() { w.view.toggle(&w.view.layers.outlines) }),
		film("Edge points", func() { w.view.toggle(&w.view.layers.edges) }),
		layout.NewSpacer(), plain("Keys", w.showKeys),
	)
	back := canvas.NewRectangle(widgets.Surface)
	b.object = container.NewStack(back, container.New(layout.NewCustomPaddedLayout(3, 3, 6, 6), row))
	return b
}

func (b *toolbar) show() {
	s := b.w.s
	enable(b.undo, s.UndoName() != "")
	enable(b.redo, s.RedoName() != "")
	f := s.Selected()
	for _, btn := range b.needFilm {
		enable(btn, f != nil && f.Pixels() != nil)
	}
	b.mark(b.head, s.Part() == session.Head)
	b.mark(b.cup, s.Part() == session.Cup)
}

// mark shows which outline the keys act on.
func (b *toolbar) mark(btn *widget.Button, on bool) {
	want := widget.LowImportance
	if on {
		want = widget.MediumImportance
	}
	if btn.Importance != want {
		btn.Importance = want
		btn.Refresh()
	}
}

// statusLine tells what goes on, and where readings are kept.
type statusLine struct {
	object fyne.CanvasObject
	s      *session.Session
	notice *widget.Label
	where  *widget.Label
	bar    *widget.ProgressBar
	cancel *widget.Button
	resume *widget.Button
}

func newStatusLine(s *session.Session) *statusLine {
	l := &statusLine{s: s, notice: widget.NewLabel(""), where: widget.NewLabel(""), bar: widget.NewProgressBar()}
	l.notice.Truncation = fyne.TextTruncateEllipsis
	l.where.Importance = widget.LowImportance
	l.bar.TextFormatter = func() string { return progressText(l.s) }
	l.cancel = widget.NewButton("Stop", s.Cancel)
	l.resume = widget.NewButton("Go on", s.Resume)
	back := canvas.NewRectangle(widgets.Surface)
	bar := container.NewGridWrap(fyne.NewSize(190, 26), l.bar)
	right := container.NewHBox(bar, l.cancel, l.resume, l.where)
	l.object = container.NewStack(back, container.NewBorder(nil, nil, nil, right, l.notice))
	return l
}

func (l *statusLine) show() {
	done, total := l.s.Progress()
	show(l.bar, total > 0)
	show(l.cancel, total > 0)
	show(l.resume, l.s.Idle())
	if total > 0 {
		l.bar.Max = float64(total)
		l.bar.SetValue(float64(done))
	}
	notice := l.s.Notice()
	if f := l.s.Selected(); notice == "" && f != nil && f.Draft != nil {
		notice = "Enter accepts · arrows nudge · R refines the chosen outline · ? shows all keys"
	}
	if l.notice.Text != notice {
		l.notice.SetText(notice)
	}
	where := whereText(l.s)
	if l.where.Text != where {
		l.where.SetText(where)
	}
}
