package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/assets"
	"linerwatch/assets/texts"
)

// showAbout says which version this is, and whose work it holds under which licence: a list,
// and beside it the text of the one that is chosen.
func (w *window) showAbout() {
	all := append([]assets.Notice{{Of: texts.Say("about.thanks", nil), Text: assets.Acknowledged()}}, assets.AllNotices()...)
	text := widget.NewTextGrid() // draws the lines that are seen alone: a licence may have thousands
	text.Scroll = fyne.ScrollBoth
	list := widget.NewList(func() int { return len(all) },
		func() fyne.CanvasObject {
			of := widget.NewLabel("")
			of.Truncation = fyne.TextTruncateEllipsis
			licences := note("")
			licences.Truncation = fyne.TextTruncateEllipsis
			licences.Wrapping = fyne.TextWrapOff
			return container.New(layout.NewCustomPaddedVBoxLayout(-14), of, licences)
		},
		func(i widget.ListItemID, o fyne.CanvasObject) {
			row := o.(*fyne.Container)
			of, version, _ := strings.Cut(all[i].Of, " ")
			row.Objects[0].(*widget.Label).SetText(of)
			row.Objects[1].(*widget.Label).SetText(strings.TrimSpace(version + "  " + all[i].Licences))
		})
	list.OnSelected = func(i widget.ListItemID) { text.SetText(all[i].Text) }
	list.Select(0)
	head := container.New(layout.NewCustomPaddedVBoxLayout(-10), bold("Linerwatch "+w.s.Book().Program()), note(texts.Say("about.licence", nil)), note(report.Caution()))
	split := container.NewHSplit(list, text)
	split.Offset = 0.33
	size := w.win.Canvas().Size()
	d := dialog.NewCustom(texts.Say("about.title", nil), texts.Say("button.close", nil), container.NewBorder(head, nil, nil, nil, split), w.win)
	d.Resize(fyne.NewSize(min(1100, size.Width-40), min(900, size.Height-40)))
	w.present(d)
}
