package ui

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/ui/widgets"
)

// welcome is the first screen.
type welcome struct {
	object fyne.CanvasObject
	w      *window
	recent *fyne.Container
	paths  []string
}

func newWelcome(w *window) *welcome {
	p := &welcome{w: w, recent: container.New(layout.NewCustomPaddedVBoxLayout(0))}
	title := canvas.NewText(say("welcome.how-far-has"), widgets.Text)
	title.TextSize, title.TextStyle.Bold = 24, true
	lead := widget.NewLabel(say("welcome.linerwatch-measures-femoral"))
	lead.Wrapping = fyne.TextWrapWord
	steps := container.New(layout.NewCustomPaddedVBoxLayout(0),
		step("1", say("welcome.open-films-one"), say("welcome.folder-or-drop")),
		step("2", say("welcome.enter-implant-dates"), say("welcome.head-diameter-side")),
		step("3", say("welcome.check-each-proposal"), say("welcome.head-cup-outlined")),
		step("4", say("welcome.read-trend"), say("welcome.penetration-standard-errors")))
	open := widget.NewButton(say("button.open-films"), w.openFilms)
	open.Importance = widget.HighImportance
	buttons := container.New(layout.NewCustomPaddedHBoxLayout(8), open,
		widget.NewButton(say("button.open-study"), w.openStudy),
		widget.NewButton(say("welcome.try-demo-hips"), w.openDemo))
	caution := widget.NewLabel(report.Caution())
	caution.Wrapping = fyne.TextWrapWord
	box := canvas.NewRectangle(widgets.Surface)
	box.CornerRadius = 6
	edge := canvas.NewRectangle(widgets.Watch)
	edge.SetMinSize(fyne.NewSize(3, 0))
	in := func(o fyne.CanvasObject) fyne.CanvasObject { // as far in as the text of labels
		return container.New(layout.NewCustomPaddedLayout(0, 0, theme.InnerPadding(), 0), o)
	}
	column := container.New(layout.NewCustomPaddedVBoxLayout(10), in(title), lead, in(steps), in(buttons), p.recent,
		in(container.NewStack(box, container.NewBorder(nil, nil, edge, nil, caution))))
	p.object = container.NewStack(canvas.NewRectangle(widgets.Ground),
		container.NewVScroll(container.NewCenter(container.New(columnLayout{640}, column))))
	return p
}

func step(number, title, text string) fyne.CanvasObject {
	n := canvas.NewText(number, widgets.Accent)
	n.TextSize, n.TextStyle.Bold = 20, true
	t := bold(title)
	more := widget.NewLabel(text)
	more.Wrapping = fyne.TextWrapWord
	left := container.New(layout.NewCustomPaddedLayout(8, 0, 0, 6), container.NewVBox(n))
	return container.NewBorder(nil, nil, left, nil, container.New(layout.NewCustomPaddedVBoxLayout(-8), t, more))
}

// show fills in the recent studies and comes to the front.
func (p *welcome) show() {
	paths := p.w.s.Book().Recent()
	if !slices.Equal(paths, p.paths) || len(p.recent.Objects) == 0 && len(paths) > 0 {
		p.paths = paths
		p.recent.Objects = nil
		if len(paths) > 0 {
			p.recent.Add(bold(say("open.recent")))
		}
		for _, path := range paths {
			b := widget.NewButton(recentText(path, 60), func() { p.w.openPath(path) })
			b.Alignment, b.Importance = widget.ButtonAlignLeading, widget.LowImportance
			p.recent.Add(b)
		}
		p.recent.Refresh()
	}
	p.object.Show()
}

// columnLayout gives its one object a fixed width, so that text wraps.
type columnLayout struct{ width float32 }

// Layout implements fyne.Layout.
func (l columnLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	for _, o := range objects {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(fyne.NewSize(l.width, size.Height))
	}
}

// MinSize implements fyne.Layout.
func (l columnLayout) MinSize(objects []fyne.CanvasObject) fyne.Size {
	h := float32(0)
	for _, o := range objects {
		if o.Size().Width != l.width {
			o.Resize(fyne.NewSize(l.width, o.MinSize().Height))
		}
		h = max(h, o.MinSize().Height)
	}
	return fyne.NewSize(l.width, h)
}
