package ui

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// goOn opens the study that was open last, with the page of its hips in front, and then
// calls then. Where it cannot be opened that is told, and another offered.
func (w *window) goOn(then func()) {
	last := w.s.Book().Last()
	if last == "" {
		then()
		return
	}
	w.s.Book().Open(last, func(err error) {
		if err != nil {
			w.s.Say("%s", say("book.last-not-opened", "File", last, "Why", refusedWhy(err)))
			w.askOther(last, err)
			then()
			return
		}
		w.refresh()
		if !w.listsFirst() {
			w.turn(w.placeOf(hipsKind().word))
		}
		then()
	})
}

// openPath opens a study file and tells what went wrong.
func (w *window) openPath(path string) {
	w.leave(func() {
		w.leaveStudy(func() {
			w.s.Book().Open(path, func(err error) {
				if err != nil && w.s.Book().Path() != path {
					w.askOther(path, err)
					return
				}
				w.told(err)
				w.listsFirst()
				w.focusViewer()
			})
		})
	})
}

// askOther tells why the study at path was not opened and offers another.
func (w *window) askOther(path string, err error) {
	if errors.Is(err, session.ErrStopped) { // the reader's wish
		w.s.Say("%s", say("book.stopped-version", "File", study.NameOf(path)))
		return
	}
	w.ask(say("book.study-not-opened"), fmt.Sprintf("%s: %s.\n\n%s", study.SafeName(path), refusedWhy(err), refusedTodo(err)), answer{say("button.close"), nil},
		answer{say("button.new-study"), w.newStudy}, answer{say("button.another-study"), w.openStudy})
}

// named puts the study's name into the window's title.
func (w *window) named() {
	title := "Linerwatch"
	if w.blind() {
		title = texts.Say("blind.title", nil) + " · " + title
	}
	if path := w.s.Book().Path(); path != "" {
		title = study.NameOf(path) + " · " + title
		if w.s.Book().ReadOnly() {
			title = say("panel.read-only", "Study", title)
		}
	}
	if w.win.Title() != title {
		w.win.SetTitle(title)
	}
}

// newStudy asks for a new study file and opens it.
func (w *window) newStudy() {
	w.leave(func() {
		w.leaveStudy(func() {
			w.askPath(pathAsked{
				title: say("book.new-study"), head: say("ask.study-file"),
				note: say("book.new-file"),
				do:   say("book.make-study"), act: w.s.Book().New,
			}, func() {
				w.focusViewer()
				w.s.Say("%s", say("book.is-open", "File", study.NameOf(w.s.Book().Path())))
			})
		})
	})
}

// pathAsked is what a dialog that asks for a study file says and does.
type pathAsked struct {
	title, head, note, do string
	path                  string // proposed; empty for one that is free
	act                   func(path string, then func(error))
}

// askPath asks for the path of a study file, acts on it, and goes on with then; a fault is
// told beside the path.
func (w *window) askPath(a pathAsked, then func()) {
	path := newField(w, cmp.Or(a.path, w.s.Book().FreePath()))
	fault := faultNote()
	folder := widget.NewButton(say("button.folder"), func() {
		w.choose(say("book.folder-study-file"), aFolder, func(paths []string) {
			path.SetText(filepath.Join(paths[0], filepath.Base(path.Text)))
		})
	})
	d := dialog.NewCustomWithoutButtons(a.title, container.NewVBox(
		bold(a.head), container.NewBorder(nil, nil, nil, folder, path), note(a.note), fault), w.win)
	save := widget.NewButton(a.do, func() { w.answered(d, fault, then, func(end func(error)) { a.act(path.Text, end) }) })
	save.Importance = widget.HighImportance
	path.OnSubmitted = func(string) { save.OnTapped() }
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), func() { d.Hide(); w.focusViewer() }), save})
	d.Resize(fyne.NewSize(640, d.MinSize().Height))
	w.present(d)
	w.win.Canvas().Focus(path)
}

// answered does what was asked for in d, closes that and goes on with then; a fault is told
// in d. Where a study has to be brought to this version's form first, which can be stopped
// below, d does not stand over it.
func (w *window) answered(d dialog.Dialog, fault *widget.Label, then func(), do func(end func(error))) {
	if w.s.Book().Opening() {
		return // it is being done
	}
	hidden := false
	do(func(err error) {
		switch {
		case err == nil:
			if !hidden {
				d.Hide()
			}
			then()
		case hidden:
			w.told(err)
		default:
			fault.SetText(study.Told(err))
			fault.Show()
		}
	})
	if path, _, _ := w.s.Book().Adapting(); path != "" {
		hidden = true
		d.Hide()
	}
}

// hipBeside opens the hip that is n steps further in the order of the page of hips, or back. Outlines
// that were changed and not accepted are kept.
func (w *window) hipBeside(n int) {
	o := w.s.Overview()
	switch {
	case w.s.Book().Path() == "":
		w.s.Say("%s", say("book.no-study-open"))
		return
	case o.Lacking():
		w.waitToGo(func() { w.hipBeside(n) })
		return
	}
	row, ok := o.Beside(n)
	if o.Total() == 0 {
		w.s.Say("%s", say("book.study-holds-no"))
		return
	}
	if !ok {
		key := "book.first-hip"
		if n > 0 {
			key = "book.last-hip"
		}
		w.s.Say("%s", say(key, "Among", w.filtered()))
		return
	}
	w.openRow(row)
}

// filtered says that filters leave hips out, where they do.
func (w *window) filtered() string {
	o := w.s.Overview()
	if rows := len(o.Walk()); rows < o.Total() {
		return " " + say("book.among", "Rows", rows, "Total", o.Total())
	}
	return ""
}

// openRow opens the hip, or the films, of a row of the page of hips; the page in front
// stays, but for that page.
func (w *window) openRow(row study.Summary) {
	o := w.s.Overview()
	o.Point(row.Hip.ID)
	if pile, ok := o.Pile(row); ok {
		w.begin(pile, w.at != w.placeOf(hipsKind().word))
		return
	}
	w.openHip(row.Hip.ID, func() {
		if w.at == w.placeOf(hipsKind().word) {
			w.toFilms()
		}
		w.s.Say("%s.", row.Hip.Label())
	})
}

// readNext says which hip waits to be read next, and the key that opens it, or "".
func (w *window) readNext() string {
	if w.s.Book().Path() == "" {
		return ""
	}
	row, ok := w.s.Overview().Next()
	if !ok {
		return ""
	}
	return " " + say("book.opens-next", "Key", w.keyLabel(nextToRead), "Hip", row.Hip.Label())
}

// hipToRead opens the next hip that waits to be read.
func (w *window) hipToRead() {
	o := w.s.Overview()
	row, ok := o.Next()
	if !ok && o.Busy() {
		w.waitToGo(w.hipToRead)
		return
	}
	if !ok {
		w.s.Say("%s", say("book.no-other-hip"))
		return
	}
	w.openRow(row)
}

// hipWish is a step to another hip that waits until the hips of the study are read.
type hipWish struct {
	from string // ID of the hip that was open
	step func()
}

// waitToGo takes a step to another hip once the hips of the study are read, unless another
// has been opened by then.
func (w *window) waitToGo(step func()) {
	h, _ := w.s.Hip()
	w.after = &hipWish{h.ID, step}
	w.s.Say("%s", say("book.still-read"))
}

// goAfter takes the step that waited, where its time has come.
func (w *window) goAfter() {
	h, _ := w.s.Hip()
	switch a := w.after; {
	case a == nil || w.s.Overview().Busy():
	case a.from != h.ID || w.covered() || w.facing():
		w.after = nil
	default:
		w.after = nil
		a.step()
	}
}
