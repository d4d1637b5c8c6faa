package ui

import (
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/study"
)

// writing is a dialog that asks for a folder or a file, has something written into it, and says what
// became of that.
type writing struct {
	dir   *field
	said  *widget.Label
	write *widget.Button
	// exists is told that there is such a file already; nil where nobody asks.
	exists func()
}

// askFolder says what is about to be written, and hands the folder to write once the button
// named by title is pressed. It offers a folder beside the study's file, named by suffix;
// choices stand below it.
func (w *window) askFolder(title, suffix string, about []string, write func(to *writing, dir string), choices ...fyne.CanvasObject) *writing {
	return w.askPlace(title, say("writing.folder"), w.beside(suffix), about, write, choices...)
}

// stem is the path of the study's file; of a study on a server, its name.
func (w *window) stem() string {
	if path := w.s.Book().Path(); !study.IsAddress(path) {
		return path
	}
	return study.NameOf(w.s.Book().Path())
}

// beside is a path beside the study's file, or in the folder that is at work where no file
// is open.
func (w *window) beside(suffix string) string {
	path := strings.TrimSuffix(w.stem(), study.FileExt) + suffix
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path
}

// askPlace is askFolder for what is called kind.
func (w *window) askPlace(title, kind, path string, about []string, write func(to *writing, path string), choices ...fyne.CanvasObject) *writing {
	to := &writing{dir: newField(w, path), said: widget.NewLabel(""), write: widget.NewButton(title, nil)}
	to.said.Wrapping = fyne.TextWrapWord
	to.said.Hide()
	to.write.Importance = widget.HighImportance
	to.write.OnTapped = func() {
		to.write.Disable()
		write(to, strings.TrimSpace(to.dir.Text))
	}
	to.dir.OnSubmitted = func(string) { to.write.OnTapped() }
	form := container.NewVBox()
	for _, line := range about {
		form.Add(note(line))
	}
	lines := container.NewVScroll(to.said) // as many as there are films
	lines.SetMinSize(fyne.NewSize(0, 90))
	form.Objects = append(append(append(form.Objects, bold(kind), to.dir), choices...), lines)
	d := dialog.NewCustomWithoutButtons(title, form, w.win)
	d.SetOnClosed(w.focusViewer)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), d.Hide), to.write})
	d.Resize(fyne.NewSize(640, 360))
	w.present(d)
	w.win.Canvas().Focus(to.dir)
	return to
}

// tell says how the writing stands.
func (to *writing) tell(importance widget.Importance, text string) {
	to.said.Importance = importance
	to.said.SetText(text)
	to.said.Show()
}

// done says what became of the writing, which may be tried again.
func (to *writing) done(importance widget.Importance, text string) {
	to.write.Enable()
	to.tell(importance, text)
}
