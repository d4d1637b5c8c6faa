package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/assets/texts"
)

// keyOf returns the key of a deed. A deed without a key is a programmer's mistake.
func (w *window) keyOf(what deed) key {
	for _, r := range w.table {
		for _, k := range r.keys {
			if k.what == what {
				return k
			}
		}
	}
	panic("ui: no key does what a menu or a sentence names")
}

// press does what the key of a deed does.
func (w *window) press(what deed) { w.keyOf(what).do() }

// keyLabel is the key of a deed, as the help names it.
func (w *window) keyLabel(what deed) string { return w.keyOf(what).label }

// item is the line of a menu that does what a key does.
func (w *window) item(what deed, checked bool) *fyne.MenuItem {
	return w.itemNamed(w.keyOf(what).item, what, checked)
}

func (w *window) itemNamed(text string, what deed, checked bool) *fyne.MenuItem {
	k := w.keyOf(what)
	m := menuItem(text, k.inMenu(), func() { k.do(); w.focusViewer() })
	m.Checked = checked
	return m
}

// menuItem is a line of a menu; the key that does the same is named after it. As
// the toolkit's shortcut it would be too faint to read.
func menuItem(text, key string, do func()) *fyne.MenuItem {
	return fyne.NewMenuItem(text+"   "+key, do)
}

// hint tells what to do with an outline, where the films are in front.
func (w *window) hint() string {
	if w.pages == nil || !w.atHome() {
		return ""
	}
	return say("tool.hint", "Accept", w.keyLabel(acceptReading), "Refine", w.keyLabel(refineOutline), "All", w.keyLabel(seeKeys))
}

// label names the keys of a row.
func (r keyRow) label() string {
	var labels []string
	for _, k := range r.keys {
		if k.label != "" {
			labels = append(labels, k.label)
		}
	}
	return strings.Join(labels, ", ")
}

// keyLine is a line of the help. Without keys it names the page of those below.
type keyLine struct{ keys, does string }

// keyHelp lists the keys as the window shows them, those of the pages other than the
// films' under the word of their page.
func (w *window) keyHelp() []keyLine {
	var out []keyLine
	last := everywhere
	for _, r := range w.table {
		if r.on != last && r.on != everywhere && r.on != w.home() {
			out = append(out, keyLine{does: w.kinds[r.on].word})
		}
		last = r.on
		out = append(out, keyLine{r.label(), r.does})
	}
	return out
}

// showKeys lists the keys.
func (w *window) showKeys() {
	list := container.New(layout.NewCustomPaddedVBoxLayout(-11))
	for _, l := range w.keyHelp() {
		if l.keys == "" {
			list.Add(bold(say("tool.on-page", "Page", l.does)))
			continue
		}
		said := widget.NewLabel(l.does)
		said.Wrapping = fyne.TextWrapWord
		list.Add(container.NewBorder(nil, nil, container.New(columnLayout{170}, bold(l.keys)), nil, said))
	}
	size := w.win.Canvas().Size()
	d := dialog.NewCustomWithoutButtons(say("tool.keys-mouse"),
		container.NewBorder(nil, note(report.Caution()), nil, nil, container.NewVScroll(list)), w.win)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(texts.Say("about.title", nil), w.showAbout), widget.NewButton(say("button.close"), d.Hide)})
	d.Resize(fyne.NewSize(min(760, size.Width-40), min(900, size.Height-40)))
	w.present(d)
}
