package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/ui/widgets"
)

// pageTitle is the line at the top of a page.
func pageTitle() *canvas.Text {
	t := canvas.NewText("", widgets.Text)
	t.TextSize, t.TextStyle.Bold = 18, true
	return t
}

// pageHead sets a page's title.
func pageHead(title fyne.CanvasObject) fyne.CanvasObject {
	return container.New(layout.NewCustomPaddedLayout(8, 2, 14, 14), title)
}

// hipHead sets a page's title that begins with the open hip, whose whole code a tip
// tells.
func (w *window) hipHead(title *canvas.Text) fyne.CanvasObject {
	return newTipped(w, pageHead(title), func() string {
		h, _ := w.s.Hip()
		return w.wholeHip(hipTitle(h))
	})
}

// panel is the column of choices and numbers beside a page, which scrolls.
func panel(width float32, rows ...fyne.CanvasObject) fyne.CanvasObject {
	back := canvas.NewRectangle(widgets.Surface)
	back.SetMinSize(fyne.NewSize(width, 0))
	column := container.New(layout.NewCustomPaddedVBoxLayout(2), rows...)
	return container.NewStack(back, container.NewVScroll(container.New(layout.NewCustomPaddedLayout(0, 8, 0, 0), column)))
}

// onGround lays a page on the window's colour.
func onGround(page fyne.CanvasObject) fyne.CanvasObject {
	return container.NewStack(canvas.NewRectangle(widgets.Ground), page)
}

// bold names what follows below it.
func bold(text string) fyne.CanvasObject {
	return widget.NewLabelWithStyle(text, fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
}

// inset sets o in as far as the text of labels.
func inset(o fyne.CanvasObject) fyne.CanvasObject {
	return container.New(layout.NewCustomPaddedLayout(0, 0, 8, 8), o)
}

// emptyNote says why there is nothing to show, as wide as there is room.
func emptyNote() *widget.Label {
	l := widget.NewLabel("")
	l.Alignment, l.Wrapping, l.Importance = fyne.TextAlignCenter, fyne.TextWrapWord, widget.LowImportance
	return l
}

// midway puts o halfway up, as wide as there is room.
func midway(o fyne.CanvasObject) fyne.CanvasObject {
	return container.NewVBox(layout.NewSpacer(), o, layout.NewSpacer())
}

// faultNote tells what is wrong with what was entered, once it is shown.
func faultNote() *widget.Label {
	l := widget.NewLabel("")
	l.Importance, l.Wrapping = widget.DangerImportance, fyne.TextWrapWord
	l.Hide()
	return l
}

// note is a caption in muted small type.
func note(text string) *widget.Label {
	l := widget.NewLabel(text)
	l.Wrapping = fyne.TextWrapWord
	l.SizeName = theme.SizeNameCaptionText
	l.Importance = widget.LowImportance
	return l
}
