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
)

// keyHelp lists the keys, as the window shows them.
var keyHelp = [][2]string{
	{"Page Up, Page Down", "film before, film after"},
	{"Enter", "accept the reading and go on to the next film"},
	{"H, C", "keys act on the head, on the cup"},
	{"Arrow keys", "nudge by 0.1 px; with Shift by 1 px"},
	{"+, −", "radius by 0.1 px"},
	{"R", "refine the chosen outline to the edge"},
	{"B", "refine both outlines"},
	{"Ctrl+Z, Ctrl+Y", "undo, redo"},
	{"F, Z, 1", "whole film, hip, one film pixel per screen pixel"},
	{"X", "leave the film out of the trend, with a reason; again to take it back in"},
	{"I, L, N, M, T", "invert; greys of the whole film, bone, metal, through the shell"},
	{"O, E, G", "outlines; edge points and residuals; the head at the baseline"},
	{"D", "details of the film: scale, magnification, change against the baseline, what to do"},
	{"K, Space", "compare with the baseline: side by side, blend, wipe, flicker; swap"},
	{"P, V, Escape", "trend page; patient view; back to the films"},
	{"Wheel", "zoom at the pointer"},
	{"Drag", "a centre or a rim moves it; elsewhere the film"},
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

// covered reports whether a dialog or a menu lies over the window: keys then do
// not reach the films.
func (w *window) covered() bool { return w.win.Canvas().Overlays().Top() != nil }

// present shows d; Escape closes it.
func (w *window) present(d dialog.Dialog) {
	w.dialog = d
	d.Show()
}

// key acts on a key that is no letter.
func (w *window) key(k fyne.KeyName, shift bool) {
	if w.covered() {
		if k == fyne.KeyEscape && w.dialog != nil {
			w.dialog.Hide()
		}
		return
	}
	if w.page != readPage && !w.pageKey(k) {
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
	}
}

// letter acts on a typed character.
func (w *window) letter(r rune) {
	if w.covered() {
		return
	}
	if w.page != readPage && r != '?' && r != 'p' && r != 'P' && r != 'v' && r != 'V' {
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
		w.s.SetCompare((w.s.Compare() + 1) % (session.Flicker + 1))
	case ' ':
		if w.s.Compare() == session.Flicker {
			w.view.toggle(&w.view.layers.swapped)
		}
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
	grid := container.New(layout.NewFormLayout())
	for _, k := range keyHelp {
		grid.Add(widget.NewLabelWithStyle(k[0], fyne.TextAlignLeading, fyne.TextStyle{Bold: true}))
		grid.Add(widget.NewLabel(k[1]))
	}
	d := dialog.NewCustom("Keys and mouse", "Close", container.NewVBox(grid, note(report.Caution)), w.win)
	d.Resize(fyne.NewSize(560, 300))
	w.present(d)
}
