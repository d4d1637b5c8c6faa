package ui

import (
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// copiesPage shows each film of the hip before it is written without what tells who it
// is of, with what looks like text in its picture.
type copiesPage struct {
	basis
	c       *session.Outgoing
	picture *widgets.Picture
	title   *canvas.Text
	places  *widget.Label
	before  *widget.Button
	after   *widget.Button
	key     *field
	out     *field
	looked  *passingCheck
	write   *widget.Button
	said    *widget.Label
}

func copiesKind() pageKind {
	return pageKind{
		word: say("page.copies.name"), does: say("page.copies.does"), turns: named("F6", nil, fyne.KeyF6),
		fill: func(w *window) page { return newCopiesPage(w) },
	}
}

func newCopiesPage(w *window) *copiesPage {
	p := &copiesPage{basis: basis{w: w}, c: w.s.Outgoing(), picture: widgets.NewPicture(), title: pageTitle()}
	p.picture.OnTap, p.picture.OnDrag = p.c.Toggle, p.c.Mark
	p.places, p.said = widget.NewLabel(""), widget.NewLabel("")
	p.places.Wrapping, p.said.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	p.before = widget.NewButton(say("page.copies.film-before"), func() { p.step(-1) })
	p.after = widget.NewButton(say("page.copies.next-film"), func() { p.step(1) })
	p.key, p.out = newField(w, ""), newField(w, "")
	p.key.SetPlaceHolder(say("page.copies.such-key", "Path", filepath.Join(home(), "secret.key")))
	p.out.SetPlaceHolder(say("page.copies.such-folder"))
	p.key.keeps, p.out.keeps = inAField, inAField
	p.looked = newCheck(w, say("page.copies.i-have-looked"), nil)
	p.write = widget.NewButton(say("page.copies.write-copies"), func() {
		p.c.Write(strings.TrimSpace(p.key.Text), strings.TrimSpace(p.out.Text), p.looked.Checked)
	})
	p.write.Importance = widget.HighImportance
	p.arrange()
	return p
}

func (p *copiesPage) arrange() {
	column := container.New(layout.NewCustomPaddedVBoxLayout(4),
		note(say("page.copies.about")),
		container.NewGridWithColumns(2, p.before, p.after), p.places, // which has more lines or fewer
		bold(say("page.copies.key")), p.key, note(say("page.copies.key-about")),
		bold(say("page.copies.folder-copies")), p.out, p.looked, p.write, p.said)
	side := container.NewVScroll(inset(column))
	side.SetMinSize(fyne.NewSize(340, 0))
	p.object = onGround(container.New(layout.NewCustomPaddedLayout(10, 10, 16, 16),
		container.NewBorder(p.title, nil, nil, side, p.picture)))
}

func (p *copiesPage) ready() bool { return len(p.w.s.Strip().Films()) > 0 }

func (p *copiesPage) hears() session.Change { return session.OutgoingChanged }

func (p *copiesPage) heard(session.Change) { p.show() }

// inAField are the keys that a field keeps from the page; those that turn pages are not.
var inAField = []fyne.KeyName{
	fyne.KeyLeft, fyne.KeyRight, fyne.KeyHome, fyne.KeyEnd, fyne.KeyBackspace, fyne.KeyDelete, fyne.KeyUp, fyne.KeyDown,
	fyne.KeyReturn, fyne.KeyEnter, fyne.KeyTab, fyne.KeySpace,
}

// home is the user's own folder, "" where it cannot be told.
func home() string {
	dir, _ := os.UserHomeDir()
	return dir
}

// front takes the films that are there when the page is turned to.
func (p *copiesPage) front(on bool) {
	if on && !p.c.Writing() {
		p.w.s.Say("") // of the films as they are read
		p.c.Begin()
	}
}

func (p *copiesPage) keys() []keyRow {
	return []keyRow{{does: say("page.copies.film-before-next"), keys: []key{
		named(say("tool.page-up"), func() { p.step(-1) }, fyne.KeyPageUp), named(say("tool.page-down"), func() { p.step(1) }, fyne.KeyPageDown),
	}}}
}

func (p *copiesPage) step(by int) { p.c.Show(p.c.At() + by) }

func (p *copiesPage) show() {
	n, f := len(p.c.Films()), p.c.Front()
	if f == nil {
		return
	}
	as := say("page.copies.as-written")
	if !f.Written() {
		as = say("page.copies.which-not-written")
	}
	p.title.Text = say("page.copies.film", "N", p.c.At()+1, "Of", n, "As", as, "File", filepath.Base(f.Path))
	p.title.Refresh()
	var parts []widgets.Part
	for _, place := range f.Places {
		parts = append(parts, widgets.Part{Box: place.Part, Black: place.Black})
	}
	if f.Picture == nil {
		p.picture.Set(nil, nil)
	} else {
		p.picture.Set(f.Picture, parts)
	}
	p.places.SetText(placesWords(f))
	enable(p.before, p.c.At() > 0)
	enable(p.after, p.c.At() < n-1)
	enable(p.write, p.c.Unseen() == 0 && !p.c.Writing())
	p.said.SetText(p.saidWords())
}

// placesWords says what is marked in a film.
func placesWords(f *session.Leaving) string {
	found, black := 0, 0
	for _, p := range f.Places {
		if p.Found {
			found++
		}
		if p.Black {
			black++
		}
	}
	switch {
	case f.Unfit:
		return say("page.copies.scan")
	case !f.Fault.IsZero():
		return say("page.copies.cannot-shown", "Why", study.NoteWords(f.Fault))
	case f.Picture == nil:
		return say("page.copies.being-read")
	case len(f.Places) == 0:
		return say("page.copies.no-text")
	}
	return say("page.copies.text", "Found", found, "Black", black)
}

// saidWords says what is left to do, or what became of the copies.
func (p *copiesPage) saidWords() string {
	films, err := p.c.Result()
	if n := p.c.Unseen(); n > 0 {
		return say("page.copies.not-looked", "N", n)
	}
	switch {
	case p.c.Writing():
		return say("page.copies.being-written")
	case err != nil:
		return say("page.copies.not-done", "Why", study.Told(err))
	case films == nil:
		return ""
	}
	lines, notes := []string{""}, map[string]bool{}
	written := 0
	for _, f := range films {
		if !f.Fault.IsZero() {
			lines = append(lines, filepath.Base(f.Film)+": "+study.NoteWords(f.Fault)+".")
			continue
		}
		written++
		for _, w := range study.NotesWords(f.Warnings) {
			if !notes[w] {
				notes[w] = true
				lines = append(lines, say("page.copies.note", "What", w))
			}
		}
	}
	lines[0] = say("page.copies.written", "N", written, "Of", len(films))
	return strings.Join(lines, "\n")
}
