package ui

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"

	"linerwatch/app/study"
)

// toldFault is the fault of a study file that the reader was asked about last.
type toldFault struct {
	path, text string
	asked      dialog.Dialog
}

// askFault tells once what is wrong with the study file. It reports whether it asked.
func (w *window) askFault() bool {
	fault := w.s.Book().Fault()
	if fault == nil {
		if w.fault.asked != nil && w.fault.asked == w.top().dialog {
			w.fault.asked.Hide() // there is nothing to answer any more
		}
		w.fault = toldFault{}
		return false
	}
	now := toldFault{path: w.s.Book().Path(), text: study.Told(fault)}
	if now.path == w.fault.path && now.text == w.fault.text {
		return false
	}
	w.fault = now
	if errors.Is(fault, study.ErrMoved) {
		w.askMoved()
		return true
	}
	if study.IsAltered(fault) {
		w.ask("The study was changed outside the program", fmt.Sprintf("%s: %s\n\nWhat it is tells: linerwatch study check.", filepath.Base(now.path), now.text),
			answer{"Go on looking", nil}, answer{"Open another study …", w.openStudy})
		return true
	}
	w.ask("The study file is not sound", fmt.Sprintf("%s: %s.\n\nPart of it cannot be read, and what is accepted from now on may be lost with it. Open a whole copy, from a backup or another computer.",
		filepath.Base(now.path), now.text),
		answer{"Go on looking", nil}, answer{"Save the study elsewhere …", func() { w.saveElsewhere(nil) }}, answer{"Open another study …", w.openStudy})
	return true
}

// askMoved says that the study file has gone, and offers another place.
func (w *window) askMoved() {
	w.ask("The study file is not where it was", filepath.Base(w.s.Book().Path())+
		" was moved, removed or replaced while it was open. Nothing of your work is lost: all of it is kept in this window, but it is in no study file. Save it under another name; work goes on there. A file that has the old name now is left as it is.",
		answer{"Not now", nil}, answer{"Save the study elsewhere …", func() { w.saveElsewhere(nil) }})
	w.fault = toldFault{w.s.Book().Path(), study.Told(study.ErrMoved), w.top().dialog}
}

// leaveStudy runs then, which closes the study. Where its file has gone, the reader is
// asked first.
func (w *window) leaveStudy(then func()) {
	if !errors.Is(w.s.Book().Look(), study.ErrMoved) {
		then()
		return
	}
	w.fault = toldFault{path: w.s.Book().Path(), text: study.Told(study.ErrMoved)}
	w.ask("Leave a study that is in no file?", filepath.Base(w.s.Book().Path())+
		" was moved, removed or replaced while it was open. What was accepted since is in no study file.",
		answer{"Leave it", then}, answer{"Go back", nil}, answer{"Save the study elsewhere …", func() { w.saveElsewhere(then) }})
}

// elsewhereItems offers to go on in another file.
func (w *window) elsewhereItems() []*fyne.MenuItem {
	if w.s.Book().Path() == "" {
		return nil
	}
	return []*fyne.MenuItem{fyne.NewMenuItemSeparator(), fyne.NewMenuItem("Save the study elsewhere …", func() { w.saveElsewhere(nil) })}
}

// saveElsewhere asks for a new study file and goes on in that, and with then.
func (w *window) saveElsewhere(then func()) {
	if then == nil {
		then = w.focusViewer
	}
	w.askPath(pathAsked{
		title: "Save the study elsewhere", head: "New study file",
		note: "The whole study is written to it, and work goes on there. No file is replaced.",
		do:   "Save the study", act: w.s.Book().SaveAs,
	}, then)
}

// refusedTodo says what to do about a study that was not opened.
func refusedTodo(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "Was it moved or renamed, or is its disk not to be had? Open it where it is now."
	case errors.Is(err, study.ErrDamaged):
		return "Open a whole copy of it, from a backup or another computer. The file is as it was."
	case errors.Is(err, study.ErrNotStudy):
		return "Choose a study (its name ends in " + study.FileExt + "); films are opened with Open films. The file is as it was."
	}
	return "The file is as it was."
}

// refusedWhy says why a study was not opened.
func refusedWhy(err error) string {
	if errors.Is(err, fs.ErrNotExist) {
		return "there is no such file any more"
	}
	return study.Told(err)
}

// lookIn asks for a folder in which missing films are looked for.
func (w *window) lookIn() {
	w.choose("Look for missing films in", aFolder, func(paths []string) { w.s.Book().LookIn(paths[0]) })
}
