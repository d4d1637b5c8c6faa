package ui

import (
	"errors"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// listsPage tells which reading lists the study has and how far they are: never what is on
// them. From here a reader reads a list, and its blinding is ended.
type listsPage struct {
	basis
	title *canvas.Text
	who   *widget.Label
	enter *widget.Button // another reader
	rows  *fyne.Container
	none  *widget.Label
	why   *widget.Label // numbers are hidden
	look  *widget.Button
}

func listsKind() pageKind {
	return pageKind{word: say("blind.lists"), does: say("blind.lists-does"), turns: named("F7", nil, fyne.KeyF7),
		fill: func(w *window) page { return newListsPage(w) }}
}

func newListsPage(w *window) *listsPage {
	p := &listsPage{basis: basis{w: w}, title: pageTitle(), rows: container.New(layout.NewCustomPaddedVBoxLayout(2)), none: emptyNote()}
	p.title.Text, p.who = say("blind.lists-title"), note("")
	p.enter = widget.NewButton(texts.Say("blind.who-button", nil), func() { w.askWhere(say("button.go-on"), func() { p.heard(session.Everything) }) })
	p.why, p.look = note(""), widget.NewButton(texts.Say("blind.look-button", nil), func() { w.askLook(func() { p.heard(session.Everything) }) })
	p.why.Wrapping = fyne.TextWrapWord
	hidden := container.NewBorder(nil, nil, nil, container.NewCenter(p.look), p.why)
	head := container.NewBorder(nil, hidden, p.title, p.enter, container.New(layout.NewCustomPaddedLayout(4, 0, 16, 8), p.who))
	p.object = onGround(container.New(layout.NewCustomPaddedLayout(10, 10, 16, 16),
		container.NewBorder(head, nil, nil, nil, container.NewStack(container.NewVScroll(p.rows), midway(p.none)))))
	return p
}

// ready implements page.
func (p *listsPage) ready() bool { return p.w.s.Book().Path() != "" }

// hears implements page.
func (p *listsPage) hears() session.Change { return session.StudyChanged | session.OverviewChanged }

// heard implements page.
func (p *listsPage) heard(session.Change) {
	p.rows.Objects = nil
	p.who.SetText(texts.Say("blind.you", texts.Values{"Reader": p.w.s.Reader()}))
	lists, done, err := p.w.s.Book().Lists()
	text := ""
	switch {
	case err != nil:
		text = study.Told(err)
	case len(lists) == 0:
		text = texts.Say("blind.none", nil)
	}
	p.none.SetText(text)
	show(p.none, text != "")
	for i, l := range lists {
		p.rows.Add(p.row(l, done[i]))
	}
	p.rows.Refresh()
	enable(p.enter, !p.w.s.Book().ReadOnly())
	p.veil()
}

// veil says whether numbers are hidden, and offers to show them to who may look.
func (p *listsPage) veil() {
	err := p.w.s.Book().Hidden()
	text := ""
	if p.w.s.Book().NumbersHidden() && err != nil {
		text = texts.Say("blind.hidden-page", texts.Values{"Why": study.Told(err)})
	}
	p.why.SetText(text)
	hidden, is := errors.AsType[*session.HiddenError](err)
	show(p.why, text != "")
	show(p.look, is && len(hidden.Read) == 0)
}

// row is the line of a list.
func (p *listsPage) row(l study.List, done int) fyne.CanvasObject {
	said := widget.NewLabel(listWords(l, done))
	said.Wrapping = fyne.TextWrapWord
	read := widget.NewButton(say("blind.read-it"), func() { p.w.readList(l.ID) })
	read.Importance = widget.HighImportance
	unblind := widget.NewButton(say("blind.end-blinding-asks"), func() { p.askUnblind(l) })
	open := l.Opened == nil && !p.w.s.Book().ReadOnly()
	enable(read, open && l.Reader == p.w.s.Reader() && done < len(l.Places))
	enable(unblind, open)
	return container.NewBorder(nil, widget.NewSeparator(), nil, container.NewCenter(container.NewHBox(unblind, read)), said)
}

// listWords says of whom a list is and how far it has come.
func listWords(l study.List, done int) string {
	text := say("blind.line", "List", l.ID, "Reader", l.Reader, "N", done, "Of", len(l.Places), "Begins", texts.Say("blind.begins", texts.Values{"Start": string(l.Start)}))
	if l.Kind == study.AdjudicateList {
		text += " · " + say("blind.adjudication")
	}
	if l.Opened != nil {
		text += " · " + say("blind.unblinded", "Date", l.Opened.At.Format("2006-01-02"), "Reader", l.Opened.Reader, "Why", l.Opened.Why)
	}
	return text
}

// askUnblind asks why the blinding of a list's reader is ended.
func (p *listsPage) askUnblind(l study.List) {
	w := p.w
	if w.s.Reader() == "" {
		w.askWhere(say("button.go-on"), func() { p.askUnblind(l) })
		return
	}
	why, fault := newField(w, ""), faultNote()
	why.SetPlaceHolder(say("blind.such-why"))
	form := container.NewVBox(widget.NewLabel(texts.Say("blind.unblind", texts.Values{"List": l.ID, "Reader": l.Reader})), bold(say("blind.why")), why, fault)
	d := dialog.NewCustomWithoutButtons(say("blind.end-blinding"), form, w.win)
	end := widget.NewButton(say("blind.end-it"), func() {
		err := error(study.NewError("blind.no-why", nil))
		if text := strings.TrimSpace(why.Text); text != "" {
			err = w.s.Book().Unblind(l.ID, text)
		}
		if err != nil {
			fault.SetText(study.Told(err))
			fault.Show()
			return
		}
		d.Hide()
		p.heard(session.Everything)
	})
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(texts.Say("button.go-back", nil), func() { d.Hide(); w.focusViewer() }), end})
	d.Resize(fyne.NewSize(560, d.MinSize().Height))
	w.present(d)
	w.win.Canvas().Focus(why)
}
