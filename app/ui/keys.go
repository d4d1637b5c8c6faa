package ui

import (
	"slices"
	"strings"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

// key is what pressing a key does. Handlers, the help, menus and what the window
// says of keys are made from it.
type key struct {
	label string // as the help names it; empty where the label before it names it too
	short string // as menus name it, where that is not the label
	what  deed   // by which menus and sentences find it; 0 for none
	item  string // what a menu calls it

	names []fyne.KeyName // a key that is no character
	runes string         // a character, whichever of these
	ctrl  fyne.Shortcut  // or typed with Ctrl
	mouse bool           // no key: told in the help only

	do      func()
	shifted func() // with Shift, where that does something else
	down    func() // a key that acts while it is held, in place of being typed
	up      func()
}

// keyRow is a line of the help: keys that belong together, and what they do.
type keyRow struct {
	does string
	keys []key
	on   int // place of the page that they act on, or everywhere
}

// everywhere is where keys act that no page has taken.
const everywhere = -1

// deed names a key that menus and sentences speak of.
type deed int

// The deeds.
const (
	acceptReading deed = iota + 1
	chooseHead
	chooseCup
	drawCircle
	drawRing
	drawLine
	drawRim
	nextProposal
	refineOutline
	seeFilm
	seeHip
	seePixels
	greysFilm
	greysBone
	greysMetal
	greysShell
	greysInvert
	greysLocal
	loupePointer
	loupeBack
	loupeOn
	markLateral
	seeOutlines
	seeEdges
	seeBaseline
	compareNext
	findHip
	leaveOut
	seeKeys
	nextToRead
	stopWork
	hipBefore
	hipAfter
	showAllHips
)

// letter is the key of a character, whether it is typed large or small.
func letter(r rune, do func()) key {
	k := key{label: string(r), runes: string(r), do: do}
	if small := unicode.ToLower(r); small != r {
		k.runes += string(small)
	}
	return k
}

// named is the key that has a name.
func named(label string, do func(), names ...fyne.KeyName) key {
	return key{label: label, names: names, do: do}
}

// in tells what a menu calls the key.
func (k key) in(what deed, item string) key {
	k.what, k.item = what, item
	return k
}

// inMenu is the key as menus name it.
func (k key) inMenu() string {
	if k.short != "" {
		return k.short
	}
	return k.label
}

// keyTable lists every key: those of the films, those that act everywhere and turn to
// pages, the mouse, and those of the other pages.
func (w *window) keyTable() []keyRow {
	of := func(i int) (rows []keyRow) {
		for _, r := range w.pages[i].keys() {
			r.on = i
			rows = append(rows, r)
		}
		return rows
	}
	home := w.home()
	table := append(of(home), w.keysEverywhere()...)
	for i, k := range w.kinds {
		if w.blind() {
			continue // there is no other page to turn from
		}
		k.turns.do = func() { w.turn(i) }
		table = append(table, keyRow{k.does, []key{k.turns}, everywhere})
	}
	table = append(table, mouseRows(home)...)
	for i := range w.pages {
		if i != home {
			table = append(table, of(i)...)
		}
	}
	return table
}

func (w *window) keysEverywhere() []keyRow {
	ctrlO := &desktop.CustomShortcut{KeyName: fyne.KeyO, Modifier: fyne.KeyModifierControl}
	ctrlP := &desktop.CustomShortcut{KeyName: fyne.KeyP, Modifier: fyne.KeyModifierControl}
	ctrlStop := &desktop.CustomShortcut{KeyName: fyne.KeyPeriod, Modifier: fyne.KeyModifierControl}
	if w.blind() {
		return w.blindEverywhere()
	}
	return []keyRow{
		{say("tool.undo-or-redo", "NotFacing", notFacing()), []key{
			{label: say("tool.ctrl-z"), ctrl: &fyne.ShortcutUndo{}, do: w.unlessFacing(w.s.History().Undo)},
			{label: say("tool.ctrl-y"), ctrl: &fyne.ShortcutRedo{}, do: w.unlessFacing(w.s.History().Redo)},
		}, everywhere},
		{say("tool.open-films"), []key{{label: say("tool.ctrl-o"), ctrl: ctrlO, do: w.openFilms}}, everywhere},
		{say("tool.print-patient-page"), []key{{label: say("tool.ctrl-p"), ctrl: ctrlP, do: w.print}}, everywhere},
		{say("tool.stop-what-goes"), []key{key{label: say("tool.ctrl-stop"), ctrl: ctrlStop, do: w.stopOrGoOn}.in(stopWork, "")}, everywhere},
		{say("tool.hip-before-after", "NotFacing", notFacing()), []key{
			key{label: "<", runes: "<", do: w.unlessFacing(func() { w.hipBeside(-1) })}.in(hipBefore, ""),
			key{label: ">", runes: ">", do: w.unlessFacing(func() { w.hipBeside(1) })}.in(hipAfter, ""),
		}, everywhere},
		{say("tool.next-to-read", "NotFacing", notFacing()), []key{letter('3', w.unlessFacing(w.hipToRead)).in(nextToRead, "")}, everywhere},
		{say("tool.list"), []key{letter('?', w.showKeys).in(seeKeys, say("button.keys"))}, everywhere},
	}
}

// blindEverywhere are the keys that act everywhere while a list is read.
func (w *window) blindEverywhere() []keyRow {
	return []keyRow{
		{say("tool.undo-and-redo"), []key{
			{label: say("tool.ctrl-z"), ctrl: &fyne.ShortcutUndo{}, do: w.s.History().Undo},
			{label: say("tool.ctrl-y"), ctrl: &fyne.ShortcutRedo{}, do: w.s.History().Redo},
		}, everywhere},
		{say("tool.list"), []key{letter('?', w.showKeys).in(seeKeys, say("button.keys"))}, everywhere},
	}
}

// notFacing is what the help adds for keys that could show another patient's hip.
func notFacing() string { return say("tool.not-facing") }

// unlessFacing keeps from the page that is shown to a patient what could bring another
// patient's hip there.
func (w *window) unlessFacing(do func()) func() {
	return func() {
		if !w.facing() {
			do()
		}
	}
}

// facing reports whether the page in front is shown to a patient.
func (w *window) facing() bool { return w.kinds[w.at].faces }

// stopOrGoOn stops what goes on in the background, or takes up what was stopped.
func (w *window) stopOrGoOn() {
	adapting, _, _ := w.s.Book().Adapting()
	switch _, total := w.s.Work().Progress(); {
	case total > 0 || adapting != "":
		w.s.Work().Stop()
	case w.s.Work().Idle():
		w.s.Work().Resume()
	default:
		w.s.Say("%s", say("tool.nothing-goes-background"))
	}
}

func mouseRows(home int) []keyRow {
	row := func(label, does string) keyRow { return keyRow{does, []key{{label: label, mouse: true}}, home} }
	return []keyRow{
		row(say("tool.wheel"), say("tool.zoom-pointer")),
		row(say("tool.drag"), say("tool.centre-rim-point")),
		row(say("tool.drag-right-button"), say("tool.sideways-contrast-up")),
	}
}

// bindKeys has the window act on the keys of the table.
func (w *window) bindKeys() {
	w.table = w.keyTable()
	c := w.win.Canvas()
	for _, r := range w.table {
		for _, k := range r.keys {
			if k.ctrl == nil {
				continue
			}
			c.AddShortcut(k.ctrl, func(fyne.Shortcut) {
				if !w.covered() && !w.away {
					k.do()
				}
			})
		}
	}
	c.SetOnTypedKey(func(e *fyne.KeyEvent) { w.key(e.Name, false) })
	c.SetOnTypedRune(w.letter)
}

// pressed returns the key of the page in front that is so, else that of every page.
func (w *window) pressed(is func(key) bool) (key, bool) {
	for _, on := range []int{w.at, everywhere} {
		for _, r := range w.table {
			if i := slices.IndexFunc(r.keys, is); r.on == on && i >= 0 {
				return r.keys[i], true
			}
		}
	}
	return key{}, false
}

// key acts on a key that is no letter.
func (w *window) key(name fyne.KeyName, shift bool) {
	if w.covered() {
		w.dialogKey(name)
		return
	}
	k, ok := w.pressed(func(k key) bool { return k.down == nil && slices.Contains(k.names, name) })
	switch {
	case !ok:
	case shift && k.shifted != nil:
		k.shifted()
	default:
		k.do()
	}
}

// letter acts on a typed character.
func (w *window) letter(r rune) {
	if w.covered() {
		return
	}
	if k, ok := w.pressed(func(k key) bool { return strings.ContainsRune(k.runes, r) }); ok {
		k.do()
	}
}

// acts reports whether the page in front, or every page, has a key.
func (w *window) acts(name fyne.KeyName) bool {
	_, ok := w.pressed(func(k key) bool { return k.down == nil && slices.Contains(k.names, name) })
	return ok
}

// held acts on a key that goes down or up and acts while it is held.
func (w *window) held(name fyne.KeyName, down bool) {
	k, ok := w.pressed(func(k key) bool { return k.down != nil && slices.Contains(k.names, name) })
	switch {
	case !ok:
	case down:
		k.down()
	default:
		k.up()
	}
}
