package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

// keyHelp lists the keys, as the window shows them.
var keyHelp = [][2]string{
	{"Page Up, Page Down", "film before, film after"},
	{"Enter", "accept the reading and go on to the next film"},
	{"H, C", "keys act on the head, on the cup"},
	{"Arrow keys", "nudge by 0.1 px; with Shift by 1 px"},
	{"+, −", "radius by 0.1 px"},
	{"A, W", "draw the chosen outline by three clicks; the cup's wire ring by three clicks"},
	{"J, U", "reference line, rim line of the cup: two clicks each, or one drag"},
	{"2", "the search's next proposal for this film"},
	{"R", "refine the chosen outline to the edge"},
	{"B", "refine both outlines"},
	{"Ctrl+Z, Ctrl+Y", "undo, redo"},
	{"F, Z, 1", "whole film, hip, one film pixel per screen pixel"},
	{"X", "leave the film out of the trend, with a reason; again to take it back in"},
	{"I, L, N, M, T", "invert; greys of the whole film, bone, metal, through the shell"},
	{"S", "local contrast inside the cup, for the head behind the shell"},
	{"Q", "loupe at the pointer; held, it shows as long"},
	{"Comma, full stop", "loupe on the rim of the chosen outline; on along it by 5°"},
	{"Y", "mark the film as lateral, or as AP again"},
	{"O, E, G", "outlines; edge points and residuals; the head at the baseline"},
	{"D", "details of the film: scale, magnification, change against the baseline, what to do"},
	{"K, Space", "compare with the baseline: side by side, blend, wipe, flicker; swap"},
	{"F2, F3", "hips of the study; implant, films and readings of this hip"},
	{"P, V, Escape", "trend page; patient view; back to the films"},
	{"Wheel", "zoom at the pointer"},
	{"Drag", "a centre, a rim, a point or a line's end moves it; elsewhere the film"},
	{"Drag, right button", "sideways contrast, up and down brightness"},
}

func (w *window) bindKeys() {
	c := w.win.Canvas()
	free := func(f func()) func(fyne.Shortcut) {
		return func(fyne.Shortcut) {
			if !w.covered() {
				f()
			}
		}
	}
	c.AddShortcut(&fyne.ShortcutUndo{}, free(w.s.Undo))
	c.AddShortcut(&fyne.ShortcutRedo{}, free(w.s.Redo))
	open := &desktop.CustomShortcut{KeyName: fyne.KeyO, Modifier: fyne.KeyModifierControl}
	c.AddShortcut(open, free(w.openFolder))
	c.SetOnTypedKey(func(e *fyne.KeyEvent) { w.key(e.Name, false) })
	c.SetOnTypedRune(w.letter)
}

// The steps of a nudge, in film pixels.
const (
	fine   = 0.1
	coarse = 1
)

// rimStep is how far the loupe goes along a rim, degrees.
const rimStep = 5

// putAway ends what is in hand: a tool, else the loupe, else the comparison.
func (w *window) putAway() {
	at, _, _ := w.s.Loupe()
	switch {
	case w.s.CancelTool():
	case at != session.NoLoupe:
		w.s.SetLoupe(session.NoLoupe)
	case w.s.Compare() != session.Alone:
		w.s.SetCompare(session.Alone)
	}
}

// toggleLateral marks the film as lateral, or as AP.
func (w *window) toggleLateral() {
	v := study.Lateral
	if w.s.View(w.s.Selected()) == study.Lateral {
		v = study.AP
	}
	w.told(w.s.SetView(v))
}

// covered reports whether a dialog or a menu lies over the window: keys then do
// not reach the films.
func (w *window) covered() bool { return w.win.Canvas().Overlays().Top() != nil }

// present shows d; Escape closes it.
func (w *window) present(d dialog.Dialog) {
	w.dialog, w.proposed = d, nil
	d.Show()
}

// dialogKey acts on a key while a dialog or a menu is open: Escape closes the dialog
// shown last, Enter gives the proposed answer of a question.
func (w *window) dialogKey(k fyne.KeyName) {
	switch {
	case w.dialog == nil:
	case k == fyne.KeyEscape:
		w.dialog.Hide()
	case (k == fyne.KeyReturn || k == fyne.KeyEnter) && w.proposed != nil:
		w.proposed()
	}
}

// key acts on a key that is no letter.
func (w *window) key(k fyne.KeyName, shift bool) {
	if w.covered() {
		w.dialogKey(k)
		return
	}
	if w.turnKey(k) || w.page != readPage && !w.pageKey(k) {
		return
	}
	step := fine
	if shift {
		step = coarse
	}
	switch k {
	case fyne.KeyLeft:
		w.s.Nudge(-step, 0)
	case fyne.KeyRight:
		w.s.Nudge(step, 0)
	case fyne.KeyUp:
		w.s.Nudge(0, -step)
	case fyne.KeyDown:
		w.s.Nudge(0, step)
	case fyne.KeyPageUp:
		w.s.Step(-1)
	case fyne.KeyPageDown:
		w.s.Step(1)
	case fyne.KeyHome:
		w.s.Select(0)
	case fyne.KeyEnd:
		w.s.Select(len(w.s.Films()) - 1)
	case fyne.KeyReturn, fyne.KeyEnter:
		w.accept()
	case fyne.KeyEscape:
		w.putAway()
	}
}

// letter acts on a typed character.
func (w *window) letter(r rune) {
	if w.covered() {
		return
	}
	if w.page != readPage && !w.pageLetter(r) {
		return
	}
	switch r {
	case 'h', 'H':
		w.s.SetPart(session.Head)
	case 'c', 'C':
		w.s.SetPart(session.Cup)
	case 'r', 'R':
		w.s.Refine()
	case 'b', 'B':
		w.s.RefineBoth()
	case '+', '=':
		w.s.Grow(fine)
	case '-':
		w.s.Grow(-fine)
	case 'f', 'F':
		w.s.ShowFilm()
	case 'z', 'Z':
		w.s.ShowHip()
	case '1':
		w.s.ShowPixels()
	case 'i', 'I':
		w.s.ToggleInvert()
	case 'm', 'M':
		w.s.ShowMetal()
	case 'l', 'L':
		w.s.ResetLevel()
	case 'n', 'N':
		w.s.ShowBone()
	case 't', 'T':
		w.s.ShowThroughShell()
	case 'o', 'O':
		w.view.toggle(&w.view.layers.outlines)
	case 'e', 'E':
		w.toggleEvidence()
	case 'g', 'G':
		w.view.toggle(&w.view.layers.noGhost)
	case 'd', 'D':
		w.showFacts()
	case 'k', 'K':
		w.nextCompare()
	case ' ':
		if w.s.Compare() == session.Flicker {
			w.view.toggle(&w.view.layers.swapped)
		}
	case 'a', 'A':
		w.s.SetTool(session.CircleTool)
	case 'w', 'W':
		w.s.SetTool(session.RingTool)
	case 'u', 'U':
		w.s.SetTool(session.RimTool)
	case 'j', 'J':
		w.s.SetTool(session.LineTool)
	case '2':
		w.s.NextProposal()
	case 's', 'S':
		w.s.ToggleLocal()
	case ',', '.':
		w.s.WalkRim(map[rune]float64{',': -rimStep, '.': rimStep}[r])
	case 'y', 'Y':
		w.toggleLateral()
	case 'x', 'X':
		w.askExclude()
	case 'p', 'P':
		w.turn(trendPage)
	case 'v', 'V':
		w.turn(patientPage)
	case '?':
		w.showKeys()
	}
}

// showKeys lists the keys.
func (w *window) showKeys() {
	list := container.New(layout.NewCustomPaddedVBoxLayout(-11))
	for _, k := range keyHelp {
		key := bold(k[0])
		said := widget.NewLabel(k[1])
		said.Wrapping = fyne.TextWrapWord
		list.Add(container.NewBorder(nil, nil, container.New(columnLayout{170}, key), nil, said))
	}
	size := w.win.Canvas().Size()
	d := dialog.NewCustom("Keys and mouse", "Close",
		container.NewBorder(nil, note(report.Caution), nil, nil, container.NewVScroll(list)), w.win)
	d.Resize(fyne.NewSize(min(760, size.Width-40), min(900, size.Height-40)))
	w.present(d)
}
