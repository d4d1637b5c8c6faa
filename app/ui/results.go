package ui

import (
	"context"
	"errors"
	"fmt"
	"io"

	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

// askResults says what results of the hip are, asks where they go, and writes them.
func (w *window) askResults() {
	about := []string{
		"Writes three DICOM objects of every film of this hip with an accepted reading that counts: a report of outlines and " +
			"numbers, a picture with the outlines, and the outlines to lay over the film. They carry the name, birth date and study " +
			"that the film's file has, so that an archive puts them to the film.",
		w.resultsAhead(),
	}
	w.askFolder("Write results", "-results", about, func(to *writing, dir string) {
		to.tell(widget.MediumImportance, "Writing …")
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
	return fmt.Sprintf("%d of %s have such a reading; counted: %s. Nothing is sent anywhere, and no file is overwritten.",
		n, study.Count(len(films), "film"), session.CountsWords(w.s.Book().Counts()))
}

// writeResults writes the results of the hip into dir and says what became of them; whole
// is whether nothing failed.
func (w *window) writeResults(dir string, done func(said string, whole bool)) {
	if dir == "" {
		done("Not written: name a folder.", false)
		return
	}
	save := func(path string, write func(io.Writer) error) error {
		return report.SaveFile(path, report.KeepOld, write)
	}
	w.s.Book().WriteResults(dir, save, func(films []study.Written, err error) {
		text, whole := resultsWords(dir, films)
		switch {
		case errors.Is(err, context.Canceled):
			text, whole = "Stopped. "+text, false
		case err != nil:
			text, whole = "Not written: "+study.Told(err)+".", false
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
			lines += "\n" + f.Film.Name() + " – not written: " + study.NoteWords(f.Fault)
		} else if len(f.Files) > 0 {
			n++
		}
		for _, note := range study.NotesWords(f.Notes) {
			lines += "\n" + f.Film.Name() + " – " + note
		}
	}
	return fmt.Sprintf("Written to %s: results of %s.", dir, study.Count(n, "film")) + lines, whole
}
