package ui

import (
	"errors"
	"io/fs"

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
		w.ask(say("fault.changed-outside"), say("fault.check-tells", "File", study.NameOf(now.path), "What", now.text),
			answer{say("button.go-on-looking"), nil}, answer{say("button.another-study"), w.openStudy})
		return true
	}
	w.ask(say("fault.not-sound"), say("fault.not-whole", "File", study.NameOf(now.path), "What", now.text),
		answer{say("button.go-on-looking"), nil}, answer{say("button.save-elsewhere"), func() { w.saveElsewhere(nil) }}, answer{say("button.another-study"), w.openStudy})
	return true
}

// askMoved says that the study file has gone, and offers another place.
func (w *window) askMoved() {
	w.ask(say("fault.not-there"), say("fault.was-moved", "File", study.NameOf(w.s.Book().Path())),
		answer{say("fault.not-now"), nil}, answer{say("button.save-elsewhere"), func() { w.saveElsewhere(nil) }})
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
	w.ask(say("fault.leave-no-file"), say("fault.was-moved-lost", "File", study.NameOf(w.s.Book().Path())),
		answer{say("fault.leave"), then}, answer{say("button.go-back"), nil}, answer{say("button.save-elsewhere"), func() { w.saveElsewhere(then) }})
}

// elsewhereItems offers to go on in another file.
func (w *window) elsewhereItems() []*fyne.MenuItem {
	if w.s.Book().Path() == "" {
		return nil
	}
	return []*fyne.MenuItem{fyne.NewMenuItemSeparator(), fyne.NewMenuItem(say("button.save-elsewhere"), func() { w.saveElsewhere(nil) })}
}

// saveElsewhere asks for a new study file and goes on in that, and with then.
func (w *window) saveElsewhere(then func()) {
	if then == nil {
		then = w.focusViewer
	}
	w.askPath(pathAsked{
		title: say("fault.save-study-elsewhere"), head: say("fault.new-study-file"),
		note: say("fault.whole-study-written"),
		do:   say("fault.save-study"), act: w.s.Book().SaveAs,
	}, then)
}

// refusedTodo says what to do about a study that was not opened.
func refusedTodo(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return say("fault.moved-or-renamed")
	case errors.Is(err, study.ErrDamaged):
		return say("fault.open-whole-copy")
	case errors.Is(err, study.ErrNotStudy):
		return say("fault.choose-study", "Ending", study.FileExt)
	}
	return say("fault.file-as")
}

// refusedWhy says why a study was not opened.
func refusedWhy(err error) string {
	if errors.Is(err, fs.ErrNotExist) {
		return say("fault.there-no-such")
	}
	return study.Told(err)
}

// lookIn asks for a folder in which missing films are looked for.
func (w *window) lookIn() {
	w.choose(say("fault.look-missing-films"), aFolder, func(paths []string) { w.s.Book().LookIn(paths[0]) })
}
