package ui

import (
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// toolbar holds the pages and what is done with the whole session.
type toolbar struct {
	object     fyne.CanvasObject
	w          *window
	undo, redo *widget.Button
	pages      []*widget.Button // in the order of the pages
}

// undoLength is how much of a step's name fits on its button.
const undoLength = 24

func newToolbar(w *window) *toolbar {
	b := &toolbar{w: w}
	b.undo, b.redo = plain(w, say("button.undo"), w.s.History().Undo), plain(w, say("button.redo"), w.s.History().Redo)
	back := canvas.NewRectangle(widgets.Surface)
	b.object = container.NewStack(back, container.New(layout.NewCustomPaddedLayout(3, 3, 6, 6), container.New(layout.NewCustomPaddedHBoxLayout(2), b.row()...)))
	return b
}

// row is what stands in the bar.
func (b *toolbar) row() []fyne.CanvasObject {
	w := b.w
	if w.blind() {
		return blindBar(b)
	}
	row := []fyne.CanvasObject{b.open(), widget.NewSeparator()}
	for i, k := range w.kinds {
		btn := plain(w, k.word, func() { w.turn(i) })
		b.pages = append(b.pages, btn)
		row = append(row, btn)
	}
	look := plain(w, say("tool.light"), w.switchLook)
	if w.s.Light() {
		look.SetText(say("tool.dark"))
	}
	return append(row, widget.NewSeparator(), b.undo, b.redo, layout.NewSpacer(), w.languages(), look, plain(w, say("button.keys"), w.showKeys))
}

func plain(w *window, text string, tap func()) *widget.Button {
	btn := widget.NewButton(text, func() { tap(); w.focusViewer() })
	btn.Importance = widget.LowImportance
	return btn
}

// open is the menu of what can be opened.
func (b *toolbar) open() fyne.CanvasObject {
	w := b.w
	return menuButton(w, say("tool.open"), func() []*fyne.MenuItem {
		return append([]*fyne.MenuItem{
			fyne.NewMenuItem(say("tool.films"), w.openFilms), fyne.NewMenuItem(say("tool.films-from-archive"), w.openArchive), fyne.NewMenuItem(say("tool.study"), w.openStudy), fyne.NewMenuItem(say("open.server"), w.openServer), fyne.NewMenuItem(say("button.new-study"), w.newStudy), fyne.NewMenuItem(say("tool.demo-hips"), w.openDemo),
		}, append(w.foundItems(), append(w.elsewhereItems(), w.recentItems()...)...)...)
	})
}

// recentItems are the studies that were opened before, but the one that is open.
func (w *window) recentItems() []*fyne.MenuItem {
	title := fyne.NewMenuItem(say("open.recent"), nil)
	title.Disabled = true
	items := []*fyne.MenuItem{fyne.NewMenuItemSeparator(), title}
	for _, path := range w.s.Book().Recent() {
		if path != w.s.Book().Path() {
			items = append(items, fyne.NewMenuItem(recentText(path, 40), func() { w.openPath(path) }))
		}
	}
	if len(items) == 2 {
		return nil
	}
	return items
}

// recentText is a study's file and the end of its folder.
func recentText(path string, n int) string {
	if study.IsAddress(path) {
		return study.NameOf(path) + "   " + shorten(study.SafeName(path), n)
	}
	return filepath.Base(path) + "   " + shorten(filepath.Dir(path), n)
}

// menuButton shows a menu below itself.
func menuButton(w *window, text string, items func() []*fyne.MenuItem) *widget.Button {
	btn := widget.NewButtonWithIcon(text, theme.MenuDropDownIcon(), nil)
	btn.IconPlacement = widget.ButtonIconTrailingText
	btn.Importance = widget.LowImportance
	btn.OnTapped = func() {
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(btn)
		widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", items()...), w.win.Canvas(), at.AddXY(0, btn.Size().Height))
	}
	return btn
}

func (b *toolbar) show() {
	s := b.w.s
	b.step(b.undo, say("button.undo"), s.History().UndoName())
	b.step(b.redo, say("button.redo"), s.History().RedoName())
	for i, btn := range b.pages { // none where a list is read
		enable(btn, b.w.kinds[i].home || b.w.pages != nil && b.w.pages[i].ready())
		mark(btn, i == b.w.at)
	}
}

// step names the step on its button.
func (b *toolbar) step(btn *widget.Button, verb, name string) {
	enable(btn, name != "")
	text := verb
	if name != "" {
		text += ": " + begin(name, undoLength)
	}
	if btn.Text != text {
		btn.SetText(text)
	}
}

// begin keeps the beginning of a long name.
func begin(name string, n int) string {
	if r := []rune(name); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return name
}

// mark shows which of several buttons is in force.
func mark(btn *widget.Button, on bool) {
	want := widget.LowImportance
	if on {
		want = widget.MediumImportance
	}
	if btn.Importance != want {
		btn.Importance = want
		btn.Refresh()
	}
}

// tools holds what is done with the film in the viewer.
type tools struct {
	w         *window
	v         *viewer
	head, cup *widget.Button
	needFilm  []*widget.Button
}

// newTools returns the row of tools above the viewer.
func newTools(w *window, v *viewer) fyne.CanvasObject {
	b := &tools{w: w, v: v}
	film := func(text string, what deed) *widget.Button {
		btn := plain(w, text, func() { w.press(what) })
		b.needFilm = append(b.needFilm, btn)
		return btn
	}
	b.head, b.cup = film(say("tool.head"), chooseHead), film(say("tool.cup"), chooseCup)
	draw, greys, shown, compare := menuButton(w, say("tool.draw"), b.draw), menuButton(w, say("tool.greys"), b.greys), menuButton(w, say("tool.show"), b.shown), menuButton(w, say("tool.compare"), b.compare)
	show(compare, !w.blind())
	b.needFilm = append(b.needFilm, draw, greys, shown, compare)
	row := container.New(layout.NewCustomPaddedHBoxLayout(2), b.head, b.cup, film(say("tool.refine"), refineOutline), draw, widget.NewSeparator(),
		film(say("tool.whole-film"), seeFilm), film(say("tool.hip"), seeHip), film("1:1", seePixels), widget.NewSeparator(), greys, shown, compare)
	v.tools = b
	// A narrow window scrolls the row rather than widening for it.
	return container.NewStack(canvas.NewRectangle(widgets.Surface), container.NewHScroll(container.New(layout.NewCustomPaddedLayout(1, 1, 4, 4), row)))
}

func (b *tools) draw() []*fyne.MenuItem {
	w, s := b.w, b.w.s
	items := []*fyne.MenuItem{
		w.itemNamed(say("tool.draw-part", "Part", session.PartWord(s.Edits().Part())), drawCircle, s.Mouse().Tool() == session.CircleTool),
		w.item(drawRing, s.Mouse().Tool() == session.RingTool), w.item(drawLine, s.Mouse().Tool() == session.LineTool),
		w.item(drawRim, s.Mouse().Tool() == session.RimTool), fyne.NewMenuItemSeparator(),
	}
	if _, ok := s.Strip().Selected().Line(); ok {
		items = append(items, fyne.NewMenuItem(say("tool.clear-reference-line"), func() { w.told(s.Edits().ClearLine()) }))
	}
	if f := s.Strip().Selected(); f != nil && f.Draft != nil && f.Draft.Rim.Drawn() {
		items = append(items, fyne.NewMenuItem(say("tool.clear-rim-line"), s.Edits().ClearRim))
	}
	lateral := s.View(s.Strip().Selected()) == study.Lateral
	items = append(items, w.item(nextProposal, false))
	if w.blind() {
		return items
	}
	items = append(items, w.item(markLateral, lateral))
	if lateral {
		items = append(items, fyne.NewMenuItem(say("tool.edges-lateral-film"), w.askEdges))
	}
	return items
}

func (b *tools) greys() []*fyne.MenuItem {
	var items []*fyne.MenuItem
	for _, what := range []deed{greysFilm, greysBone, greysMetal, greysShell, greysInvert} {
		items = append(items, b.w.item(what, false))
	}
	return append(items, b.w.item(greysLocal, b.w.s.Viewer().LocalOn()))
}

func (b *tools) shown() []*fyne.MenuItem {
	l, w, s := &b.v.layers, b.w, b.w.s
	rim := menuItem(say("tool.loupe-rim"), w.keyOf(loupeBack).inMenu()+" "+w.keyOf(loupeOn).inMenu(), func() { s.Viewer().WalkRim(0) })
	rim.Checked = s.Viewer().LoupeIs() == session.AtRim
	if w.blind() {
		return []*fyne.MenuItem{w.item(seeOutlines, l.outlines), w.item(loupePointer, s.Viewer().LoupeIs() == session.AtPointer), rim}
	}
	return []*fyne.MenuItem{
		w.item(seeOutlines, l.outlines), w.item(seeEdges, l.edges), w.item(loupePointer, s.Viewer().LoupeIs() == session.AtPointer),
		rim, w.item(seeBaseline, !l.noGhost), fyne.NewMenuItemSeparator(), fyne.NewMenuItem(say("button.copy-picture"), func() { w.copyFilm(b.v) }),
		fyne.NewMenuItem(say("button.save-picture"), func() { w.saveFilm(b.v) }),
	}
}

func (b *tools) compare() []*fyne.MenuItem {
	var out []*fyne.MenuItem
	for c := session.Alone; c <= session.Flicker; c++ {
		text := c.String()
		m := fyne.NewMenuItem(study.Capital(text), func() { b.w.s.Viewer().SetCompare(c) })
		m.Checked = c == b.w.s.Viewer().Compare()
		out = append(out, m)
	}
	return append(out, fyne.NewMenuItemSeparator(), b.w.item(compareNext, false))
}

func (b *tools) show() {
	f := b.w.s.Strip().Selected()
	for _, btn := range b.needFilm {
		enable(btn, f != nil && f.Pixels() != nil)
	}
	mark(b.head, b.w.s.Edits().Part() == session.Head)
	mark(b.cup, b.w.s.Edits().Part() == session.Cup)
}

// statusLine tells what goes on, and where readings are kept.
type statusLine struct {
	object fyne.CanvasObject
	s      *session.Session
	hint   func() string // what to do with an outline
	notice *widget.Label
	where  *widget.Label
	line   *fyne.Container // of all
	steps  *widget.Label   // beside the bar: no one colour can be read over both its parts
	bar    *widget.ProgressBar
	room   fyne.CanvasObject // that bar stands in
	cancel *widget.Button
	resume *widget.Button
}

func newStatusLine(s *session.Session, hint func() string) *statusLine {
	l := &statusLine{s: s, hint: hint, notice: widget.NewLabel(""), where: widget.NewLabel(""), bar: widget.NewProgressBar()}
	l.notice.Truncation = fyne.TextTruncateEllipsis
	l.where.Importance = widget.LowImportance
	l.bar.TextFormatter = func() string { return "" }
	l.steps = widget.NewLabel("")
	l.cancel = widget.NewButton(say("button.stop"), s.Work().Stop)
	l.resume = widget.NewButton(say("button.go-on"), s.Work().Resume)
	back := canvas.NewRectangle(widgets.Surface)
	l.room = container.NewCenter(container.NewGridWrap(fyne.NewSize(120, 8), l.bar))
	l.where.Truncation = fyne.TextTruncateEllipsis
	l.line = container.New(yielding{l}, l.notice, container.NewHBox(l.steps, l.room, l.cancel, l.resume), l.where)
	l.object = container.NewStack(back, l.line)
	return l
}

// yielding lays the notice, what goes on, and where readings are kept into a line. What the
// reader was told just now is whole before the last of them; a hint gives way to that, and so
// does anything where nothing is saved.
type yielding struct{ l *statusLine }

// Layout implements fyne.Layout.
func (y yielding) Layout(o []fyne.CanvasObject, size fyne.Size) {
	need := func(l *widget.Label) float32 { return widget.NewLabel(l.Text).MinSize().Width + theme.Padding() }
	work, where := o[1].MinSize().Width, min(need(y.l.where), size.Width)
	if y.l.s.Notice() != "" && !strings.Contains(y.l.where.Text, notSaved()) {
		where = max(min(where, size.Width-work-need(y.l.notice)), min(o[2].MinSize().Width, where))
	}
	left := float32(0)
	for i, width := range []float32{max(0, size.Width-work-where), work, where} {
		o[i].Resize(fyne.NewSize(width, size.Height))
		o[i].Move(fyne.NewPos(left, 0))
		left += width
	}
}

// MinSize implements fyne.Layout.
func (y yielding) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(o[0].MinSize().Width+o[1].MinSize().Width+o[2].MinSize().Width, max(o[0].MinSize().Height, o[1].MinSize().Height))
}

func (l *statusLine) show() {
	done, total := l.s.Work().Progress()
	if path, n, of := l.s.Book().Adapting(); path != "" {
		done, total = n, max(1, of)
	}
	show(l.steps, total > 0)
	show(l.room, total > 0)
	show(l.cancel, total > 0)
	show(l.resume, l.s.Work().Idle())
	if total > 0 {
		l.bar.Max = float64(total)
		l.bar.SetValue(float64(done))
		l.steps.SetText(progressText(l.s))
	}
	notice := l.s.Notice()
	if f := l.s.Strip().Selected(); notice == "" && f != nil && f.Draft != nil {
		notice = l.hint()
	}
	if l.notice.Text != notice {
		l.notice.SetText(notice)
	}
	where := whereText(l.s)
	if l.where.Text != where {
		l.where.SetText(where)
	}
	l.line.Refresh() // the words share its width anew
}
