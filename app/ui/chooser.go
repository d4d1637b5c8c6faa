package ui

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// wanted is what a chooser is asked for.
type wanted int

const (
	someFilms wanted = iota // folders, films and a DICOMDIR, as many as are marked
	aStudy                  // a study file
	aFolder
	aTable // CSV or XLSX
)

// chooser is a dialog in which the reader walks through folders, with the mouse, by keys
// or by typing, and sees how many films each holds before one is opened.
type chooser struct {
	w    *window
	want wanted
	then func(paths []string)
	look *session.Browser

	dir    string
	list   []session.Entry
	counts map[string]count
	marked []string // in the order in which they were marked
	fault  error

	path   *field
	up     *widget.Button
	mark   *widget.Button
	open   *widget.Button
	table  *widgets.Table
	said   *widget.Label // in place of an empty table
	dialog *dialog.CustomDialog
}

// choose asks for what is wanted and hands it to then; nothing where the reader goes back.
func (w *window) choose(title string, want wanted, then func(paths []string)) *chooser {
	c := &chooser{w: w, want: want, then: then, look: w.s.Browse(), counts: map[string]count{}}
	c.path = newField(w, "")
	c.path.OnSubmitted = c.typed
	c.up = widget.NewButton(say("chooser.up"), func() { c.goUp(); c.focus() })
	c.table = widgets.NewTable(widgets.Column{Title: say("chooser.name"), Share: 3}, widgets.Column{Title: say("chooser.holds"), Share: 1.2}, widgets.Column{Title: say("chooser.changed"), Share: 1}, widgets.Column{Share: 0.7})
	c.table.OnOpen = c.clicked
	c.table.OnKey = c.key
	c.said = emptyNote()
	c.mark = widget.NewButton(say("chooser.mark"), func() { c.toggle(); c.focus() })
	c.open = widget.NewButton(say("chooser.open"), c.finish)
	c.open.Importance = widget.HighImportance
	several := ""
	if want == someFilms {
		several = "films"
	}
	keys := say("chooser.keys", "Several", several, "Verb", c.verb())
	head := container.NewBorder(nil, nil, nil, c.up, c.path)
	places := container.NewVScroll(c.places())
	places.SetMinSize(fyne.NewSize(150, 0))
	c.dialog = dialog.NewCustomWithoutButtons(title, container.NewBorder(head, note(keys), places, nil,
		container.NewStack(c.table, midway(c.said))), w.win)
	buttons := []fyne.CanvasObject{widget.NewButton(say("button.go-back"), c.dialog.Hide)}
	if want == someFilms {
		buttons = append(buttons, c.mark)
	}
	c.dialog.SetButtons(append(buttons, c.open))
	c.dialog.SetOnClosed(func() {
		c.look.Leave()
		if !w.covered() {
			w.focusViewer()
		}
	})
	size := w.win.Canvas().Size()
	c.dialog.Resize(fyne.NewSize(min(size.Width*0.86, 980), min(size.Height*0.9, 680)))
	w.present(c.dialog)
	c.enter(w.folder())
	return c
}

// places are folders that a reader begins at.
func (c *chooser) places() fyne.CanvasObject {
	box := container.New(layout.NewCustomPaddedVBoxLayout(0), note(say("chooser.places")))
	var seen []string
	add := func(name, dir string) {
		info, err := os.Stat(dir)
		if err != nil || !info.IsDir() || slices.Contains(seen, dir) {
			return
		}
		seen = append(seen, dir)
		b := widget.NewButton(name, func() { c.enter(dir); c.focus() })
		b.Alignment, b.Importance = widget.ButtonAlignLeading, widget.LowImportance
		box.Add(b)
	}
	if home, err := os.UserHomeDir(); err == nil {
		add(say("chooser.home"), home)
	}
	if here, err := os.Getwd(); err == nil {
		add(say("chooser.working-folder"), here)
	}
	for _, discs := range []string{"/media", "/mnt", "/Volumes"} {
		if list, err := os.ReadDir(discs); err == nil && len(list) > 0 {
			add(say("chooser.discs"), discs)
			break
		}
	}
	for _, p := range c.w.s.Book().Recent() {
		if study.IsAddress(p) {
			continue
		}
		dir := filepath.Dir(p)
		add(shorten(filepath.Base(dir), 18), dir)
	}
	return box
}

// enter lists a folder.
func (c *chooser) enter(dir string) {
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs
	}
	c.dir, c.list, c.marked, c.fault = dir, nil, nil, nil
	clear(c.counts)
	c.path.SetText(dir)
	c.path.was = dir
	c.show(-1)
	c.said.SetText(say("chooser.looking"))
	c.look.Look(dir, func(list []session.Entry, err error) {
		c.fault = err
		folders := []string{dir}
		for _, e := range list {
			if !e.Folder && !c.want.takes(e) {
				continue
			}
			c.list = append(c.list, e)
			if e.Folder {
				folders = append(folders, e.Path)
			}
		}
		c.show(-1)
		c.focus()
		if err == nil {
			c.look.Count(folders, func(folder string, n int, more bool) {
				c.counts[folder] = count{n, more}
				c.show(c.table.Cursor())
			})
		}
	})
}

// takes reports whether a file is of the kind that is wanted.
func (want wanted) takes(e session.Entry) bool {
	switch want {
	case aFolder:
		return false
	case aStudy:
		return e.Study
	case aTable:
		return e.Table
	}
	return !e.Table
}

// file reports whether a file of one kind is wanted, and no folder.
func (want wanted) file() bool { return want == aStudy || want == aTable }

// count is how many films folders hold, or more where not all was looked at.
type count struct {
	films int
	more  bool
}

func (n count) text() string {
	switch {
	case n.more && n.films == 0:
		return say("chooser.many-files")
	case n.more:
		return say("chooser.over-films", "N", n.films)
	case n.films == 0:
		return say("chooser.no-films")
	}
	return say("chooser.films", "N", n.films)
}

// holds counts the films in what is chosen; it is not known of folders that are not
// counted yet, and of files.
func (c *chooser) holds(paths []string) (sum count, known bool) {
	for _, p := range paths {
		n, ok := c.counts[p]
		if !ok {
			return count{}, false
		}
		sum.films, sum.more = sum.films+n.films, sum.more || n.more
	}
	return sum, len(paths) > 0
}

func (c *chooser) focus() {
	if c.w.top().dialog == c.dialog {
		c.w.win.Canvas().Focus(c.table.Keys())
	}
}

// show shows the folder, pointing at a row or at none.
func (c *chooser) show(cursor int) {
	rows := make([][]widgets.Cell, len(c.list))
	for i, e := range c.list {
		row := []widgets.Cell{{Text: e.Name, Code: true}, {}, {Text: e.Changed.Format("2006-01-02")}, {}}
		switch {
		case e.Folder:
			row[0].Text += string(filepath.Separator)
			if n, known := c.counts[e.Path]; known {
				row[1].Text = n.text()
			}
		case e.Study:
			row[1].Text = say("chooser.study-size", "Size", bytesText(e.Bytes))
		default:
			row[1].Text = bytesText(e.Bytes)
		}
		row[1].Color, row[2].Color = widgets.Muted, widgets.Muted
		if slices.Contains(c.marked, e.Path) {
			row[3] = widgets.Cell{Text: "marked", Color: widgets.Accent}
		}
		rows[i] = row
	}
	c.table.Set(rows, cursor)
	switch {
	case c.fault != nil:
		c.said.SetText(faultText(c.dir, c.fault))
	case len(rows) > 0:
		c.said.SetText("")
	case c.want == aFolder:
		c.said.SetText(say("chooser.no-folders-here"))
	case c.want == aStudy:
		c.said.SetText(say("chooser.no-studies", "Ending", study.FileExt))
	case c.want == aTable:
		c.said.SetText(say("chooser.no-table"))
	default:
		c.said.SetText(say("chooser.no-folders-no"))
	}
	c.offer()
}

// faultText tells in a line why a folder cannot be listed.
func faultText(dir string, err error) string {
	if p, ok := errors.AsType[*fs.PathError](err); ok {
		err = p.Err
	}
	return say("chooser.cannot-look", "Folder", dir, "Why", study.Told(err))
}

// bytesText is the size of a file.
func bytesText(n int64) string {
	if n < 1e6 {
		return say("chooser.kb", "N", max(1, float64(n)/1e3))
	}
	return say("chooser.mb", "N", float64(n)/1e6)
}

// verb is the code of what is done with what is chosen.
func (c *chooser) verb() string {
	if c.want == aFolder {
		return "choose"
	}
	return "open"
}

// offer says on the buttons what they would do.
func (c *chooser) offer() {
	verb := c.verb()
	chosen, text := c.chosen(), ""
	e, pointed := c.pointed()
	switch {
	case len(chosen) == 0 && pointed: // a folder where a study is wanted
		text = say("chooser.go-into", "Folder", shorten(e.Name, 30))
	case len(chosen) == 0:
		if text = say("button.open-study"); c.want == aTable {
			text = say("chooser.table")
		}
	case len(c.marked) > 0:
		text = say("chooser.open-marked", "N", len(c.marked))
	case pointed:
		text = say("chooser.take-name", "Verb", verb, "Name", shorten(e.Name, 30))
	default:
		text = say("chooser.take-here", "Verb", verb)
	}
	if sum, known := c.holds(chosen); known {
		text += ", " + sum.text()
	}
	c.open.SetText(text)
	if (len(chosen) > 0 || pointed) && c.fault == nil {
		c.open.Enable()
	} else {
		c.open.Disable()
	}
	word := say("chooser.mark")
	if pointed && slices.Contains(c.marked, e.Path) {
		word = say("chooser.take-mark-off")
	}
	c.mark.SetText(word)
	if pointed {
		c.mark.Enable()
	} else {
		c.mark.Disable()
	}
}

// pointed returns the entry that is pointed at.
func (c *chooser) pointed() (e session.Entry, ok bool) {
	if i := c.table.Cursor(); i >= 0 && i < len(c.list) {
		return c.list[i], true
	}
	return e, false
}

// chosen returns what Open would hand over: what is marked, else what is pointed at,
// else the folder.
func (c *chooser) chosen() []string {
	if len(c.marked) > 0 {
		return c.marked
	}
	e, pointed := c.pointed()
	switch {
	case pointed && (!c.want.file() || !e.Folder):
		return []string{e.Path}
	case !pointed && !c.want.file():
		return []string{c.dir}
	}
	return nil
}

// clicked points at a row; a click on the row that is pointed at goes into its folder
// or opens its file.
func (c *chooser) clicked(i int) {
	if i != c.table.Cursor() {
		c.show(i)
		c.focus()
		return
	}
	if e := c.list[i]; e.Folder {
		c.enter(e.Path)
		return
	}
	if len(c.marked) == 0 {
		c.finish()
	}
}

// key acts on a key typed in the table.
func (c *chooser) key(k *fyne.KeyEvent) {
	i, last := c.table.Cursor(), len(c.list)-1
	switch k.Name {
	case fyne.KeyUp:
		c.show(max(min(i, last+1)-1, min(0, last)))
	case fyne.KeyDown:
		c.show(min(i+1, last))
	case fyne.KeyPageUp:
		c.show(max(i-10, min(0, last)))
	case fyne.KeyPageDown:
		c.show(min(i+10, last))
	case fyne.KeyHome:
		c.show(min(0, last))
	case fyne.KeyEnd:
		c.show(last)
	case fyne.KeyRight:
		if e, ok := c.pointed(); ok && e.Folder {
			c.enter(e.Path)
		}
	case fyne.KeyLeft, fyne.KeyBackspace:
		c.goUp()
	case fyne.KeySpace:
		c.toggle()
	case fyne.KeyReturn, fyne.KeyEnter:
		c.finish()
	case fyne.KeyEscape:
		c.dialog.Hide()
	}
}

func (c *chooser) goUp() { c.enter(filepath.Dir(c.dir)) }

// toggle marks what is pointed at, or takes the mark off.
func (c *chooser) toggle() {
	e, ok := c.pointed()
	if !ok || c.want != someFilms {
		return
	}
	if i := slices.Index(c.marked, e.Path); i >= 0 {
		c.marked = slices.Delete(c.marked, i, i+1)
	} else {
		c.marked = append(c.marked, e.Path)
	}
	c.show(c.table.Cursor())
}

// typed goes to the folder whose path was typed, or opens the file.
func (c *chooser) typed(path string) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		c.list, c.marked, c.fault = nil, nil, err
		c.dir = path
		c.show(-1)
	case info.IsDir():
		c.enter(path)
	case c.want == aFolder:
		c.enter(filepath.Dir(path))
	default:
		c.end([]string{path})
	}
}

// finish hands over what is chosen. Where a study is wanted and a folder is pointed at,
// it goes into that.
func (c *chooser) finish() {
	chosen := c.chosen()
	if len(chosen) > 0 && c.fault == nil {
		c.end(slices.Clone(chosen))
		return
	}
	if e, ok := c.pointed(); ok && e.Folder {
		c.enter(e.Path)
	}
}

func (c *chooser) end(paths []string) {
	c.dialog.Hide()
	c.then(paths)
}
