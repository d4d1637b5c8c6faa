package ui

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// archiveSearch is a dialog in which the reader searches an image archive for a patient's
// series, and picks those whose films are fetched.
type archiveSearch struct {
	w    *window
	look *session.Archives

	series []study.Series
	marked []bool

	names   *widget.Select
	patient *field
	search  *widget.Button
	fetch   *widget.Button
	table   *widgets.Table
	said    *widget.Label // in place of an empty table
	dialog  *dialog.CustomDialog
}

// openArchive asks which films of an archive are to be fetched.
func (w *window) openArchive() { w.searchArchive(w.s.Archives().Last()) }

// searchArchive opens the dialog at an archive, at the first that is set where that is not.
func (w *window) searchArchive(name string) *archiveSearch {
	s := &archiveSearch{w: w, look: w.s.Archives()}
	hip, _ := w.s.Hip()
	s.patient = newField(w, hip.Patient)
	s.patient.SetPlaceHolder(say("archive.patient-code"))
	s.patient.OnSubmitted = func(string) { s.find() }
	s.search = widget.NewButton(say("archive.search"), s.find)
	s.table = widgets.NewTable(widgets.Column{Title: say("archive.date"), Share: 1}, widgets.Column{Title: say("archive.kind"), Share: 0.6}, widgets.Column{Title: say("archive.images"), Share: 0.6},
		widgets.Column{Title: say("archive.body-part"), Share: 1}, widgets.Column{Title: say("archive.description"), Share: 2.4}, widgets.Column{Share: 0.8})
	s.table.OnOpen = func(i int) { s.toggle(i); s.focus() }
	s.table.OnKey = s.key
	s.said = emptyNote()
	s.fetch = widget.NewButton(say("archive.fetch"), s.finish)
	s.fetch.Importance = widget.HighImportance
	s.names = widget.NewSelect(nil, func(string) { s.show(nil, "") })
	set := widget.NewButton(say("archive.set-up-archive"), s.setUp)
	head := container.NewBorder(nil, nil, s.names, container.NewHBox(s.search, set), s.patient)
	keys := note(say("archive.keys"))
	s.dialog = dialog.NewCustomWithoutButtons(say("archive.films-from"), container.NewBorder(container.NewVBox(head, keys), nil, nil, nil,
		container.NewStack(s.table, midway(s.said))), w.win)
	s.dialog.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), s.dialog.Hide), s.fetch})
	s.dialog.SetOnClosed(func() {
		s.look.Leave()
		if !w.covered() {
			w.focusViewer()
		}
	})
	size := w.win.Canvas().Size()
	s.dialog.Resize(fyne.NewSize(min(size.Width*0.86, 980), min(size.Height*0.9, 640)))
	w.present(s.dialog)
	s.offer(name)
	w.win.Canvas().Focus(s.patient)
	return s
}

// offer offers the archives that are set, one of them chosen.
func (s *archiveSearch) offer(name string) {
	names, err := s.look.Names()
	s.names.SetOptions(names)
	enable(s.search, len(names) > 0)
	switch {
	case err != nil:
		s.show(nil, sentenceOf(err))
	case len(names) == 0:
		s.names.PlaceHolder = say("archive.none-chosen")
		s.names.Refresh()
		s.show(nil, say("archive.none-set"))
	case slices.Contains(names, name):
		s.names.SetSelected(name)
	default:
		s.names.SetSelected(names[0])
	}
}

// sentenceOf is an error as a sentence.
func sentenceOf(err error) string {
	text := study.Told(err)
	return study.Capital(text) + "."
}

// find searches; what was found before goes.
func (s *archiveSearch) find() {
	if s.search.Disabled() {
		return
	}
	s.show(nil, say("archive.searching"))
	s.look.Find(s.names.Selected, s.patient.Text, func(list []study.Series, err error) {
		var films []study.Series
		for _, one := range list {
			if one.MayBeFilms {
				films = append(films, one)
			}
		}
		said := ""
		switch others := len(list) - len(films); {
		case err != nil:
			said = sentenceOf(err)
		case len(list) == 0:
			said = say("archive.no-films", "Archive", s.names.Selected)
		case len(films) == 0:
			said = say("archive.no-films-others", "Archive", s.names.Selected, "N", others)
		}
		s.show(films, said)
		s.focus()
	})
}

// show shows series, all of them marked, or says why there are none.
func (s *archiveSearch) show(list []study.Series, said string) {
	s.series, s.marked = list, make([]bool, len(list))
	for i := range s.marked {
		s.marked[i] = true
	}
	s.said.SetText(said)
	s.rows(min(0, len(list)-1))
}

// rows fills the table, pointing at a row or at none.
func (s *archiveSearch) rows(cursor int) {
	rows := make([][]widgets.Cell, len(s.series))
	for i, one := range s.series {
		date, images := say("archive.no-date"), "-"
		if !one.Date.IsZero() {
			date = one.Date.Format("2006-01-02")
		}
		if one.Images > 0 {
			images = fmt.Sprint(one.Images)
		}
		rows[i] = []widgets.Cell{{Text: date}, {Text: one.Modality}, {Text: images}, {Text: one.BodyPart}, {Text: one.Description}, {}}
		if s.marked[i] {
			rows[i][5] = widgets.Cell{Text: say("archive.marked"), Color: widgets.Accent}
		}
	}
	s.table.Set(rows, cursor)
	n, text := len(s.chosen()), say("archive.fetch")
	if n > 0 {
		text = say("archive.fetch-series", "N", n)
	}
	s.fetch.SetText(text)
	enable(s.fetch, n > 0)
}

// chosen are the series that are marked.
func (s *archiveSearch) chosen() (out []study.Series) {
	for i, one := range s.series {
		if s.marked[i] {
			out = append(out, one)
		}
	}
	return out
}

func (s *archiveSearch) focus() {
	if s.w.top().dialog == s.dialog && len(s.series) > 0 {
		s.w.win.Canvas().Focus(s.table.Keys())
	}
}

// toggle marks a series, or takes the mark off.
func (s *archiveSearch) toggle(i int) {
	if i >= 0 && i < len(s.marked) {
		s.marked[i] = !s.marked[i]
		s.rows(i)
	}
}

// key acts on a key typed in the table.
func (s *archiveSearch) key(k *fyne.KeyEvent) {
	i, last := s.table.Cursor(), len(s.series)-1
	switch k.Name {
	case fyne.KeyUp:
		s.rows(max(i-1, min(0, last)))
	case fyne.KeyDown:
		s.rows(min(i+1, last))
	case fyne.KeySpace:
		s.toggle(i)
	case fyne.KeyReturn, fyne.KeyEnter:
		s.finish()
	case fyne.KeyEscape:
		s.dialog.Hide()
	}
}

// finish fetches what is marked, in the background.
func (s *archiveSearch) finish() {
	chosen := s.chosen()
	if len(chosen) == 0 {
		return
	}
	s.dialog.Hide()
	s.look.Fetch(s.names.Selected, chosen)
}
