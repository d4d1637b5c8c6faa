package ui

import (
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// ask shows a question with its answers, the last one the proposed one.
func (w *window) ask(title, text string, answers ...answer) {
	label := widget.NewLabel(text)
	label.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustomWithoutButtons(title, label, w.win)
	var proposed func()
	var buttons []fyne.CanvasObject
	for i, a := range answers {
		b := widget.NewButton(a.text, func() {
			d.Hide()
			if a.then != nil {
				a.then()
			}
			w.focusViewer()
		})
		if i == len(answers)-1 {
			b.Importance, proposed = widget.HighImportance, b.OnTapped
		}
		buttons = append(buttons, b)
	}
	d.SetButtons(buttons)
	d.Resize(fyne.NewSize(560, 200))
	w.propose(d, proposed)
}

type answer struct {
	text string
	then func()
}

// askKeep asks once what becomes of n films with changes that are not accepted.
func (w *window) askKeep(n int, then func()) {
	text := say("ask.outlines-one-film")
	if n > 1 {
		text = say("ask.outlines-films-were", "N", n)
	}
	w.ask(say("ask.leave-without-accepting"), text, answer{say("button.go-back"), nil},
		answer{say("ask.drop-changes"), func() { w.told(w.s.Drafts().Drop()); then() }},
		answer{say("ask.keep-next-time"), func() {
			if err := w.s.Drafts().Keep(); err != nil {
				w.told(err) // leaving would lose them
				return
			}
			then()
		}})
}

// askUnkept asks what becomes of a hip that is in no study, since none could be made.
func (w *window) askUnkept(then func()) {
	h, _ := w.s.Hip()
	w.ask(say("ask.leave-hip"), say("ask.lost-hip", "Hip", hipTitle(h)),
		answer{say("ask.leave-lose"), then}, answer{say("button.go-back"), nil}, answer{say("ask.keep-study"), func() {
			w.askPath(pathAsked{
				title: say("ask.keep-hip-study"), head: say("ask.study-file"),
				note: say("ask.new-file"),
				do:   say("ask.keep"), path: w.s.Book().ProposedPath(), act: w.s.Book().Create,
			}, then)
		}})
}

// askLeftover offers once what an earlier version of the program has left unfinished.
func (w *window) askLeftover() {
	w.s.Book().Leftover(func(l session.Leftover, ok bool) {
		if path, _, _ := w.s.Book().Adapting(); ok && path == "" && !w.covered() { // else at the next start
			w.askTakeUp(l)
		}
	})
}

func (w *window) askTakeUp(l session.Leftover) {
	w.ask(say("ask.unfinished-work-earlier"), say("ask.film-films-outlines", "Films", l.Films, "SomeOf", session.SomeOf(l.Hips, ", "), "Date", l.At.Local().Format("2006-01-02")),
		answer{say("ask.ask-again-next"), nil},
		answer{say("ask.leave-out"), func() {
			path, err := w.s.Book().PutAside(l)
			if w.told(err); err == nil {
				w.s.Say("%s", say("ask.kept-as-not", "Path", path))
			}
		}},
		answer{say("ask.take-up"), func() { w.s.Book().TakeUp(l, w.told) }})
}

// askDoubt asks before a reading with an implausible magnification is accepted.
func (w *window) askDoubt(f *session.Film, doubt string) {
	answers := []answer{
		{say("button.accept-all-the-same"), func() { w.doubts[f] = true; w.accept() }},
		{say("button.check-head"), w.askHip},
	}
	if f.ByHand() {
		answers = append(answers, answer{say("ask.check-outline"), func() { w.s.Edits().SetPart(session.Head) }})
	}
	w.ask(say("ask.magnification"), doubt, answers...)
}

// begin opens films that wait as films of their own hip. Where the hip that is read is kept
// nowhere yet, the reader is asked first where. Films of another view, and such as name no
// patient where others could be meant, are asked about.
func (w *window) begin(p session.Pile, own bool) {
	h, known := w.s.Hip()
	open := func() {
		w.asked = false
		w.told(w.s.Intake().Begin(p))
		w.turn(w.home())
	}
	start := func() {
		if known && w.s.Book().Path() == "" {
			w.askWhere(say("button.go-on"), open)
			return
		}
		open() // what was changed is kept
	}
	clear := own || p.Patient != "" || p.Hip != "" && p.Hip == h.ID
	if !known || p.Waits != study.NotAP && clear {
		start()
		return
	}
	w.askPile(p, answer{say("ask.take-into", "Hip", h.Label()), func() { w.takePile(p) }}, answer{say("ask.open-as-their"), start})
}

// takeIn asks whether the films that wait in a row of the page of hips are of the hip that
// is open, and takes them into it.
func (w *window) takeIn(row study.Summary) {
	h, known := w.s.Hip()
	p, waits := w.s.Overview().Pile(row)
	switch {
	case !waits:
		w.s.Say("%s", say("ask.only-films-wait"))
	case !known:
		w.s.Say("%s", say("ask.no-hip-open"))
	default:
		w.askPile(p, answer{say("ask.take-into", "Hip", h.Label()), func() { w.takePile(p) }})
	}
}

func (w *window) takePile(p session.Pile) {
	w.s.Intake().Take(p)
	w.turn(w.home())
}

// askPile asks what becomes of films that wait.
func (w *window) askPile(p session.Pile, answers ...answer) {
	h, _ := w.s.Hip()
	text := say("ask.films-of-another", "N", len(p.Films), "Hip", p.Name(), "Open", h.Label())
	if p.Waits == study.NotAP {
		text = say("ask.films-not-ap", "N", len(p.Films), "Hip", p.Name(), "Why", study.NoteWords(p.Films[0].Reason))
	}
	w.ask(say("ask.films-wait"), text, append([]answer{{say("button.go-back"), nil}}, answers...)...)
}

// askVouch asks whether a film that contradicts its hip is this hip's all the same.
func (w *window) askVouch(f *session.Film) {
	w.ask(say("ask.whose-film"), say("ask.not-accepted-where", "Why", w.s.Intake().Contradiction(f)),
		answer{say("ask.hip-accept"), func() { w.s.Intake().Vouch(f); w.accept() }},
		answer{say("ask.take-out-strip"), func() { w.s.Strip().Remove(w.s.Strip().SelectedIndex()) }},
		answer{say("button.go-back"), nil})
}

// askExclude asks why the film in the viewer is left out of the trend; one that is
// left out is taken back in. The number of a reason answers.
func (w *window) askExclude() {
	if w.closed() {
		return
	}
	f := w.s.Strip().Selected()
	if _, known := w.s.Hip(); f == nil || f.Pixels() == nil || !known {
		return
	}
	if w.s.Reader() == "" || w.s.Book().Path() == "" {
		w.askWhere(say("button.go-on"), w.askExclude)
		return
	}
	if f.Excluded != nil {
		w.told(w.s.Given().Exclude("", ""))
		w.focusViewer()
		return
	}
	var d *dialog.CustomDialog
	column := container.New(layout.NewCustomPaddedVBoxLayout(2))
	pick := func(code string) {
		d.Hide()
		w.told(w.s.Given().Exclude(code, ""))
		w.s.Strip().NextPending()
		w.focusViewer()
	}
	codes := study.ExclusionCodes()
	for i, c := range codes {
		b := widget.NewButton(strconv.Itoa(i+1)+"   "+c.Words, func() { pick(c.Code) })
		b.Alignment = widget.ButtonAlignLeading
		column.Add(b)
	}
	keys := newKeyCatcher(func(r rune) {
		if i := int(r - '1'); i >= 0 && i < len(codes) {
			pick(codes[i].Code)
		}
	}, func() { d.Hide(); w.focusViewer() })
	column.Add(keys)
	d = dialog.NewCustom(say("ask.leave-film-out", "N", w.s.Strip().SelectedIndex()+1), say("button.go-back"), column, w.win)
	d.SetOnClosed(w.focusViewer)
	d.Resize(fyne.NewSize(460, 320))
	w.present(d)
	w.win.Canvas().Focus(keys)
}

// keyCatcher is an invisible object that takes the keys of a dialog.
type keyCatcher struct {
	widget.BaseWidget
	letter func(rune)
	escape func()
}

func newKeyCatcher(letter func(rune), escape func()) *keyCatcher {
	k := &keyCatcher{letter: letter, escape: escape}
	k.ExtendBaseWidget(k)
	return k
}

// CreateRenderer implements fyne.Widget.
func (k *keyCatcher) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(note(say("ask.number-reason-or")))
}

// FocusGained implements fyne.Focusable.
func (k *keyCatcher) FocusGained() {}

// FocusLost implements fyne.Focusable.
func (k *keyCatcher) FocusLost() {}

// TypedRune implements fyne.Focusable.
func (k *keyCatcher) TypedRune(r rune) { k.letter(r) }

// TypedKey implements fyne.Focusable.
func (k *keyCatcher) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyEscape {
		k.escape()
	}
}

func excludedText(f *session.Film) string {
	e := f.Excluded
	text := say("ask.left-out-by", "Reader", e.Reader, "Date", e.At.Format("2006-01-02"), "Why", study.ExclusionWords(e.Code))
	if e.Note != "" {
		text += " " + e.Note
	}
	return text
}
