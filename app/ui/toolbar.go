package ui

import (
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
	pages      map[page]*widget.Button
}

// undoLength is how much of a step's name fits on its button.
const undoLength = 24

func newToolbar(w *window) *toolbar {
	b := &toolbar{w: w, pages: map[page]*widget.Button{}}
	b.undo, b.redo = plain(w, "Undo", w.s.Undo), plain(w, "Redo", w.s.Redo)
	row := []fyne.CanvasObject{b.open(), widget.NewSeparator()}
	for _, p := range pageOrder {
		btn := plain(w, p.String(), func() { w.turn(p) })
		b.pages[p] = btn
		row = append(row, btn)
	}
	look := plain(w, "Light", w.switchLook)
	if w.s.Light() {
		look.SetText("Dark")
	}
	row = append(row, widget.NewSeparator(), b.undo, b.redo, layout.NewSpacer(), look, plain(w, "Keys", w.showKeys))
	back := canvas.NewRectangle(widgets.Surface)
	b.object = container.NewStack(back, container.New(layout.NewCustomPaddedLayout(3, 3, 6, 6), container.New(layout.NewCustomPaddedHBoxLayout(2), row...)))
	return b
}

func plain(w *window, text string, tap func()) *widget.Button {
	btn := widget.NewButton(text, func() { tap(); w.focusViewer() })
	btn.Importance = widget.LowImportance
	return btn
}

// open is the menu of what can be opened.
func (b *toolbar) open() fyne.CanvasObject {
	w := b.w
	return menuButton(w, "Open", func() []*fyne.MenuItem {
		return []*fyne.MenuItem{
			fyne.NewMenuItem("A folder of films …", w.openFolder), fyne.NewMenuItem("A film …", w.openFilm),
			fyne.NewMenuItem("A study …", w.openStudy), fyne.NewMenuItem("The demo hips", w.openDemo),
		}
	})
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
	b.step(b.undo, "Undo", s.UndoName())
	b.step(b.redo, "Redo", s.RedoName())
	for p, btn := range b.pages {
		enable(btn, p == readPage || b.w.has(p))
		mark(btn, p == b.w.page)
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
	film := func(text string, tap func()) *widget.Button {
		btn := plain(w, text, tap)
		b.needFilm = append(b.needFilm, btn)
		return btn
	}
	b.head = film("Head", func() { w.s.SetPart(session.Head) })
	b.cup = film("Cup", func() { w.s.SetPart(session.Cup) })
	draw, greys, shown, compare := menuButton(w, "Draw", b.draw), menuButton(w, "Greys", b.greys), menuButton(w, "Show", b.shown), menuButton(w, "Compare", b.compare)
	b.needFilm = append(b.needFilm, draw, greys, shown, compare)
	row := container.New(layout.NewCustomPaddedHBoxLayout(2), b.head, b.cup, film("Refine", w.s.Refine), draw, widget.NewSeparator(),
		film("Whole film", w.s.ShowFilm), film("Hip", w.s.ShowHip), film("1:1", w.s.ShowPixels), widget.NewSeparator(), greys, shown, compare)
	v.tools = b
	return container.NewStack(canvas.NewRectangle(widgets.Surface), container.New(layout.NewCustomPaddedLayout(1, 1, 4, 4), row))
}

func (b *tools) draw() []*fyne.MenuItem {
	s := b.w.s
	take := func(text string, key string, t session.Tool) *fyne.MenuItem {
		m := menuItem(text, key, func() { s.SetTool(t); b.w.focusViewer() })
		m.Checked = s.Tool() == t
		return m
	}
	part := session.PartWord(s.Part())
	items := []*fyne.MenuItem{
		take("The "+part+" by three clicks", "A", session.CircleTool), take("A wire ring by three clicks", "W", session.RingTool),
		take("The reference line by two clicks", "J", session.LineTool), take("The rim line by two clicks", "U", session.RimTool),
		fyne.NewMenuItemSeparator(),
	}
	if _, ok := s.Line(s.Selected()); ok {
		items = append(items, fyne.NewMenuItem("Clear the reference line", func() { b.w.told(s.ClearLine()) }))
	}
	if f := s.Selected(); f != nil && f.Draft != nil && f.Draft.Rim.Drawn() {
		items = append(items, fyne.NewMenuItem("Clear the rim line", s.ClearRim))
	}
	lateral := menuItem("This is a lateral film", "Y", b.w.toggleLateral)
	lateral.Checked = s.View(s.Selected()) == study.Lateral
	return append(items, menuItem("The search's next proposal", "2", s.NextProposal), lateral)
}

func (b *tools) greys() []*fyne.MenuItem {
	s := b.w.s
	local := menuItem("Local contrast inside the cup", "S", s.ToggleLocal)
	local.Checked = s.LocalOn()
	return []*fyne.MenuItem{
		menuItem("Whole film", "L", s.ResetLevel), menuItem("Bone", "N", s.ShowBone),
		menuItem("Metal", "M", s.ShowMetal), menuItem("Through the shell", "T", s.ShowThroughShell),
		menuItem("Invert", "I", s.ToggleInvert), local,
	}
}

func (b *tools) shown() []*fyne.MenuItem {
	l, s := &b.v.layers, b.w.s
	item := func(text string, key string, on bool, f func()) *fyne.MenuItem {
		m := menuItem(text, key, f)
		m.Checked = on
		return m
	}
	return []*fyne.MenuItem{
		item("Outlines", "O", l.outlines, func() { b.v.toggle(&l.outlines) }),
		item("Edge points and residuals", "E", l.edges, b.w.toggleEvidence),
		item("Loupe at the pointer", "Q", s.LoupeIs() == session.AtPointer, s.ToggleLoupe),
		item("Loupe on the rim", ", .", s.LoupeIs() == session.AtRim, func() { s.WalkRim(0) }),
		item("Head at the baseline", "G", !l.noGhost, func() { b.v.toggle(&l.noGhost) }),
	}
}

// menuItem is a line of a menu; the key that does the same is named after it. As
// the toolkit's shortcut it would be too faint to read.
func menuItem(text, key string, do func()) *fyne.MenuItem {
	return fyne.NewMenuItem(text+"   "+key, do)
}

func (b *tools) compare() []*fyne.MenuItem {
	var out []*fyne.MenuItem
	for c := session.Alone; c <= session.Flicker; c++ {
		text := c.String()
		m := fyne.NewMenuItem(strings.ToUpper(text[:1])+text[1:], func() { b.w.s.SetCompare(c) })
		m.Checked = c == b.w.s.Compare()
		out = append(out, m)
	}
	next := menuItem("The next of these", "K", b.w.nextCompare)
	return append(out, fyne.NewMenuItemSeparator(), next)
}

// nextCompare goes through the ways of comparing films, and back to one film.
func (w *window) nextCompare() {
	w.s.SetCompare((w.s.Compare() + 1) % (session.Flicker + 1))
}

func (b *tools) show() {
	f := b.w.s.Selected()
	for _, btn := range b.needFilm {
		enable(btn, f != nil && f.Pixels() != nil)
	}
	mark(b.head, b.w.s.Part() == session.Head)
	mark(b.cup, b.w.s.Part() == session.Cup)
}

// statusLine tells what goes on, and where readings are kept.
type statusLine struct {
	object fyne.CanvasObject
	s      *session.Session
	films  func() bool // whether the films are in front, and their keys to be told
	notice *widget.Label
	where  *widget.Label
	steps  *widget.Label // beside the bar: no one colour can be read over both its parts
	bar    *widget.ProgressBar
	cancel *widget.Button
	resume *widget.Button
}

func newStatusLine(s *session.Session, films func() bool) *statusLine {
	l := &statusLine{s: s, films: films, notice: widget.NewLabel(""), where: widget.NewLabel(""), bar: widget.NewProgressBar()}
	l.notice.Truncation = fyne.TextTruncateEllipsis
	l.where.Importance = widget.LowImportance
	l.bar.TextFormatter = func() string { return "" }
	l.steps = widget.NewLabel("")
	l.cancel = widget.NewButton("Stop", s.Cancel)
	l.resume = widget.NewButton("Go on", s.Resume)
	back := canvas.NewRectangle(widgets.Surface)
	bar := container.NewCenter(container.NewGridWrap(fyne.NewSize(120, 8), l.bar))
	right := container.NewHBox(l.steps, bar, l.cancel, l.resume, l.where)
	l.object = container.NewStack(back, container.NewBorder(nil, nil, nil, right, l.notice))
	return l
}

func (l *statusLine) show() {
	done, total := l.s.Progress()
	show(l.steps, total > 0)
	show(l.bar, total > 0)
	show(l.cancel, total > 0)
	show(l.resume, l.s.Idle())
	if total > 0 {
		l.bar.Max = float64(total)
		l.bar.SetValue(float64(done))
		l.steps.SetText(progressText(l.s))
	}
	notice := l.s.Notice()
	if f := l.s.Selected(); notice == "" && l.films() && f != nil && f.Draft != nil {
		notice = "Enter accepts · arrows nudge · R refines the chosen outline · ? shows all keys"
	}
	if l.notice.Text != notice {
		l.notice.SetText(notice)
	}
	where := whereText(l.s)
	if l.where.Text != where {
		l.where.SetText(where)
	}
}
