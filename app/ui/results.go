package ui

import (
	"context"
	"errors"
	"io"

	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

// askResults says what results of the hip are, asks where they go, and writes them.
func (w *window) askResults() {
	about := []string{
		say("writing.writes-three-dicom"),
		w.resultsAhead(),
	}
	w.askFolder(say("writing.write-results"), "-results", about, func(to *writing, dir string) {
		to.tell(widget.MediumImportance, say("writing.busy"))
		w.writeResults(dir, func(text string, whole bool) {
			importance := widget.MediumImportance
			if !whole {
				importance = widget.WarningImportance
			}
			to.done(importance, text)
		})
	})
}

// resultsAhead says of how many films there is something to write.
func (w *window) resultsAhead() string {
	n, films := 0, w.s.Record().Entries(w.s.Book().Counts())
	for _, f := range films {
		if f.State == study.FilmRead {
			n++
		}
	}
	return say("writing.have-reading", "N", n, "Of", len(films), "Rule", session.CountsWords(w.s.Book().Counts()))
}

// writeResults writes the results of the hip into dir and says what became of them; whole
// is whether nothing failed.
func (w *window) writeResults(dir string, done func(said string, whole bool)) {
	if dir == "" {
		done(say("writing.not-written-name"), false)
		return
	}
	save := func(path string, write func(io.Writer) error) error {
		return report.SaveFile(path, report.KeepOld, write)
	}
	w.s.Book().WriteResults(dir, save, func(films []study.Written, err error) {
		if h, _ := w.s.Hip(); len(films) > 0 {
			w.disclosed(study.ForArchive, h.ID)
		}
		text, whole := resultsWords(dir, films)
		switch {
		case errors.Is(err, context.Canceled):
			text, whole = say("writing.stopped", "Text", text), false
		case err != nil:
			text, whole = say("writing.failed", "Why", study.Told(err)), false
		}
		done(text, whole)
	})
}

// resultsWords says what became of the films.
func resultsWords(dir string, films []study.Written) (text string, whole bool) {
	n, lines := 0, ""
	whole = true
	for _, f := range films {
		if !f.Fault.IsZero() {
			whole = false
			lines += "\n" + say("writing.film-failed", "Film", f.Film.Name(), "Why", study.NoteWords(f.Fault))
		} else if len(f.Files) > 0 {
			n++
		}
		for _, note := range study.NotesWords(f.Notes) {
			lines += "\n" + f.Film.Name() + " – " + note
		}
	}
	return say("writing.results-written", "Folder", dir, "N", n, "Lines", lines), whole
}
