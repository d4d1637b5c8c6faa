package ui

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// add opens films; a study file among them takes their place. Where a folder holds
// a study file beside its films, the reader says which is meant.
func (w *window) add(paths []string) {
	for _, p := range paths {
		if study.IsFile(p) {
			w.openPath(p)
			return
		}
	}
	if w.closed() { // films would have to be put into it
		return
	}
	beside := studyBeside(paths)
	if beside == "" || w.s.Book().Path() != "" {
		w.s.Strip().Add(paths)
		return
	}
	text := widget.NewLabel(say("open.folder-holds", "File", filepath.Base(beside)))
	text.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustomWithoutButtons(say("open.open-study-or"), text, w.win)
	study := widget.NewButton(say("open.open-study"), func() { d.Hide(); w.openPath(beside) })
	study.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{
		widget.NewButton(say("open.only-films"), func() { d.Hide(); w.s.Strip().Add(paths) }), study,
	})
	d.Resize(fyne.NewSize(460, 160))
	w.present(d)
}

// studyBeside returns the one study file in the one folder that was named, or "".
func studyBeside(paths []string) string {
	if len(paths) != 1 {
		return ""
	}
	entries, err := os.ReadDir(paths[0])
	if err != nil {
		return "" // a film, or a folder that will be complained of when read
	}
	found, n := "", 0
	for _, e := range entries {
		if study.IsFile(e.Name()) && !e.IsDir() {
			found, n = filepath.Join(paths[0], e.Name()), n+1
		}
	}
	if n != 1 {
		return ""
	}
	return found
}

// openFilms opens films and folders of films.
func (w *window) openFilms() { w.choose(say("button.open-films"), someFilms, w.add) }

// openStudy opens a study file.
func (w *window) openStudy() {
	w.choose(say("button.open-study"), aStudy, func(paths []string) { w.openPath(paths[0]) })
}

// folder returns where a chooser begins: where the films are, else the study, else the
// working folder; the nearest folder above it that is there.
func (w *window) folder() string {
	dir := "."
	if films, p := w.s.Strip().Films(), w.s.Book().Path(); len(films) > 0 {
		dir = filepath.Dir(films[0].Path)
	} else if p != "" && !study.IsAddress(p) {
		dir = filepath.Dir(p)
	}
	for up := filepath.Dir(dir); up != dir; up = filepath.Dir(dir) {
		if _, err := os.Stat(dir); err == nil {
			break
		}
		dir = up
	}
	return dir
}

func (w *window) told(err error) {
	if err != nil {
		w.s.Say("%s", study.Told(err))
	}
}

// demoFolder is made in the working folder, or in the user's cache where that
// cannot be written.
const demoFolder = "linerwatch-demo"

// openDemo renders the demo hips in the background and opens their study.
func (w *window) openDemo() {
	dir := demoFolder
	if err := os.MkdirAll(dir, 0o755); err != nil {
		if cache, err := os.UserCacheDir(); err == nil {
			dir = filepath.Join(cache, "linerwatch", demoFolder)
		}
	}
	w.s.Book().OpenDemo(dir)
}

// accept saves the reading; what is not known yet is asked first, once.
func (w *window) accept() {
	if w.closed() {
		return
	}
	if w.blind() {
		w.acceptListed()
		return
	}
	f := w.s.Strip().Selected()
	if _, known := w.s.Hip(); !known && f != nil && w.films.side.enter.Visible() {
		w.askHip() // the one thing to do
		return
	}
	if f == nil || f.Draft == nil || f.State() == session.Excluded {
		return
	}
	if f.State() == session.Accepted || w.s.Repeats(f) {
		w.acceptAgain(f)
		return
	}
	if n := w.s.Numbers(f); n.Err != nil {
		w.s.Say("%s", say("accept.not-accepted", "Why", study.Told(n.Err)))
		return
	}
	if w.s.Intake().Contradiction(f) != "" {
		w.askVouch(f)
		return
	}
	if doubt := w.s.Doubt(f); doubt != "" && !w.doubts[f] {
		w.askDoubt(f, doubt)
		return
	}
	if w.s.Reader() == "" || w.s.Book().Path() == "" {
		w.askWhere(say("open.save-reading"), w.acceptNow)
		return
	}
	w.acceptNow()
}

// acceptAgain saves nothing, since a reading of f stands. Where that is another reader's, it
// says how this one reads the film.
func (w *window) acceptAgain(f *session.Film) {
	them, me := w.s.OthersRead(f), w.s.Reader()
	if them == "" || me == "" {
		w.s.Edits().Discard() // the same outlines
		w.s.Say("%s", say("open.read-already", "Reader", f.Accepted.Reader))
		return
	}
	w.ask(say("open.read-by", "Reader", them), say("open.shown-theirs", "Reader", them),
		answer{say("button.go-back"), nil})
}

func (w *window) acceptNow() {
	film := w.s.Strip().Selected()
	err := w.s.Accept()
	if errors.Is(err, study.ErrMoved) {
		w.askMoved() // it is accepted, and in no file
		return
	}
	if err != nil {
		w.s.Say("%s", say("accept.refused", "Why", study.Told(err)))
		return
	}
	if !w.s.Strip().NextPending() {
		w.s.Say("%s", say("open.all-read", "Others", w.byOthers(), "Trend", trendKind().turns.label, "Patient", patientKind().turns.label, "Hips", hipsKind().turns.label, "Next", w.readNext(), "File", w.s.Book().Otherwise(film)))
	}
	w.focusViewer()
}

// byOthers says how many films of the hip others have read and this reader not, where there
// are such.
func (w *window) byOthers() string {
	n := 0
	for _, f := range w.s.Strip().Films() {
		if w.s.OthersRead(f) != "" {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return say("open.by-others", "N", n)
}

// askWhere asks who reads and where readings are kept; do is what is done then.
func (w *window) askWhere(do string, then func()) {
	reader := newField(w, w.s.Reader())
	reader.SetPlaceHolder(say("ask.such-reader"))
	path := newField(w, w.s.Book().ProposedPath())
	fault := faultNote()
	title := say("open.who-reads")
	form := container.NewVBox(
		widget.NewLabel(say("open.what-you-accept")),
		bold(say("open.reader-code-never")), reader)
	if w.s.Book().Path() == "" {
		title = say("open.who-reads-where")
		form.Add(bold(say("ask.study-file")))
		form.Add(path)
		form.Add(note(say("ask.new-file")))
	}
	form.Add(fault)
	d := dialog.NewCustomWithoutButtons(title, form, w.win)
	save := widget.NewButton(do, func() {
		w.answered(d, fault, then, func(end func(error)) { w.settle(reader.Text, path.Text, end) })
	})
	save.Importance = widget.HighImportance
	reader.OnSubmitted = func(string) { save.OnTapped() }
	path.OnSubmitted = reader.OnSubmitted
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), func() { d.Hide(); w.focusViewer() }), save})
	d.Resize(fyne.NewSize(560, d.MinSize().Height))
	w.present(d)
	w.win.Canvas().Focus(reader)
}

// settle takes reader and study file, and then calls then.
func (w *window) settle(reader, path string, then func(error)) {
	if err := w.s.SetReader(reader); err != nil || w.s.Book().Path() != "" {
		then(err)
		return
	}
	w.s.Book().Create(strings.TrimSpace(path), then)
}
