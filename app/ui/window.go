package ui

import (
	"runtime/debug"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"

	"linerwatch/app/session"
	"linerwatch/app/ui/widgets"
)

// window joins the areas to one session.
type window struct {
	win     fyne.Window
	s       *session.Session
	later   func(func())
	clip    func(png []byte) error // puts a picture on the clipboard of the system
	pending session.Change         // not shown yet

	bar    *toolbar
	status *statusLine
	tip    *tip // over everything
	first  *welcome

	layers   []layer              // dialogs, one over the other
	typedIn  dialog.Dialog        // in which something was typed
	drops    func(paths []string) // takes files in place of opening them; nil where no dialog does
	progress func()               // of a dialog that shows how far work has come; nil where none does
	body     *fyne.Container      // the pages, one over the other
	kinds    []pageKind
	pages    []page // one of each kind; nil until they are made
	at       int    // place of the page in front
	films    *filmsPage
	table    []keyRow               // every key
	busy     bool                   // background work was going on
	asking   bool                   // a dialog about the hip is open
	asked    bool                   // the hip was asked for once without the reader's wish
	doubts   map[*session.Film]bool // implausible magnifications that the reader has waved through
	course   courseChoice           // of the trend page
	fault    toldFault              // of the study file
	found    int                    // Time of what was found last and shown
	after    *hipWish               // hip that is gone to once the hips are read; nil for none
	hidden   bool                   // the numbers of the study were when it was shown last
	away     bool                   // another stands in its place
	behind   *window                // that is shown again when the list is left; nil for a window of a study
}

// bareWindow returns a window that is still empty.
func bareWindow(a fyne.App, s *session.Session, later func(func())) *window {
	a.Settings().SetTheme(newTheme(s.Light()))
	w := &window{win: a.NewWindow("Linerwatch"), s: s, later: later, clip: clipPNG, kinds: pageKinds(), doubts: map[*session.Film]bool{}}
	w.at = w.home()
	w.win.SetPadded(false)
	w.win.SetContent(canvas.NewRectangle(widgets.Ground))
	w.win.Resize(fyne.NewSize(1280, 680)) // whole, with its title bar, on a screen of 1280 x 720
	return w
}

// fill shows the session in the window.
func (w *window) fill() {
	w.frame()
	w.areas()
}

// frame shows the bars and the first screen.
func (w *window) frame() {
	w.pages = nil
	w.tip = newTip()
	w.bar = newToolbar(w)
	w.status = newStatusLine(w.s, w.hint)
	w.first = newWelcome(w)
	w.body = container.NewStack(w.first.object)
	w.win.SetContent(container.NewStack(container.NewBorder(w.bar.object, w.status.object, nil, nil, w.body), w.tip.object))
	w.s.OnChange = w.changed
	w.pending = session.Everything
}

// areas makes the pages behind the first screen, and shows the session.
func (w *window) areas() {
	var pages []page
	w.body.Objects = nil
	for _, k := range w.kinds {
		p := k.fill(w)
		p.widget().Hide()
		pages = append(pages, p)
		w.body.Objects = append(w.body.Objects, p.widget())
	}
	w.pages = pages
	if !w.blind() {
		w.body.Objects = append(w.body.Objects, w.first.object)
	}
	w.body.Refresh()
	w.win.SetOnDropped(func(_ fyne.Position, uris []fyne.URI) {
		if w.blind() {
			return
		}
		var paths []string
		for _, u := range uris {
			paths = append(paths, u.Path())
		}
		if w.drops != nil {
			w.drops(paths)
			return
		}
		w.add(paths)
	})
	w.win.SetCloseIntercept(w.close)
	w.bindKeys()
	w.pending = session.Everything
	w.refresh()
}

// changed notes what the session says has changed, to be shown soon.
func (w *window) changed(c session.Change) {
	if w.pending == 0 {
		w.later(w.refresh)
	}
	w.pending |= c
}

// refresh shows what has changed.
func (w *window) refresh() {
	c := w.pending
	if c == 0 || w.away {
		return
	}
	w.pending = 0
	if w.pages == nil {
		w.first.show()
		w.bar.show()
		w.status.show()
		return
	}
	any := func(of session.Change) bool { return c&of != 0 }
	w.veiled()
	if w.progress != nil && any(session.WorkChanged) {
		w.progress()
	}
	if any(session.FilmsChanged | session.SelectedChanged | session.HipChanged | session.StudyChanged) {
		w.showPage()
	}
	if p := w.pages[w.at]; any(p.hears()) {
		p.heard(c)
	}
	if any(session.SelectedChanged | session.WorkChanged | session.NoticeChanged | session.StudyChanged | session.FilmsChanged | session.HipChanged) {
		w.status.show()
	}
	w.bar.show()
	w.named()
	w.rest()
	if any(session.StudyChanged) && w.askFault() || any(session.ConflictFound) && w.askConflict() {
		return
	}
	if f := w.s.Intake().Found(); f.Time != w.found && !w.covered() {
		if w.found = f.Time; f.Unclear() {
			w.showFound()
			return
		}
	}
	if w.goAfter(); w.covered() {
		return
	}
	if any(session.HipChanged|session.FilmsChanged) && w.s.NeedsHip() && !w.asking && !w.asked {
		w.asked = true
		w.askHip()
	}
}

// rest gives memory back once the background work is done: reading and searching
// films leave several times a film's size behind.
func (w *window) rest() {
	_, total := w.s.Work().Progress()
	if w.busy && total == 0 {
		go debug.FreeOSMemory()
	}
	w.busy = total > 0
}

// showPage shows the first screen until there are films or a study.
func (w *window) showPage() {
	if w.blind() {
		w.bring(w.home())
		return
	}
	empty := len(w.s.Strip().Films()) == 0 && w.s.Book().Path() == ""
	if _, known := w.s.Hip(); known {
		empty = false
	}
	if empty {
		w.bring(w.home())
		w.first.show()
		w.films.object.Hide()
		return
	}
	if w.films.object.Visible() || !w.atHome() {
		return
	}
	w.first.object.Hide()
	w.films.object.Show()
	if !w.covered() {
		w.win.Canvas().Focus(w.films.view.pane)
	}
}

// close ends the program; changes that are not accepted are asked about once.
func (w *window) close() {
	if w.blind() {
		w.leaveList(w.behind.close)
		return
	}
	w.leave(func() { w.leaveStudy(w.win.Close) })
}

// leave runs then, which drops the films shown. Where outlines were changed and not
// accepted, or no study keeps the hip, the reader is asked first.
func (w *window) leave(then func()) {
	_, known := w.s.Hip()
	switch n := w.s.Strip().Unsaved(); {
	case w.s.Book().Path() == "" && known:
		w.askUnkept(then)
	case n > 0:
		w.askKeep(n, then)
	default:
		then()
	}
}

func (w *window) focusViewer() {
	w.refresh()
	if w.pages != nil && w.films.object.Visible() {
		w.win.Canvas().Focus(w.films.view.pane)
	}
}
