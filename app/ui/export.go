package ui

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

// askExport asks where the tables of the study go, and writes them.
func (w *window) askExport() {
	about := []string{
		"Writes hips.csv, films.csv, readings.csv, fits.csv and codebook.csv: every hip, film, reading and fit of the study. " +
			"Films that were left out or not read are rows with their reason; NA stands for what is not known. Codes only, no file names.",
		w.hipsText() + ".",
		"Counted: " + session.CountsWords(w.s.Book().Counts()) + ".",
	}
	over := report.KeepOld
	to := w.askFolder("Write tables", "-tables", about, func(to *writing, dir string) {
		to.tell(widget.MediumImportance, "Reading the study …")
		w.export(dir, over, func(text string, err error) {
			over = report.KeepOld
			to.write.SetText("Write tables")
			switch {
			case errors.Is(err, fs.ErrExist):
				over = report.Replace
				to.write.SetText("Write over them")
				to.done(widget.WarningImportance, "Not written: the folder holds such tables already. Name another folder, or write over them.")
			case err != nil:
				to.done(widget.DangerImportance, "Not written: "+study.Told(err)+".")
			default:
				to.done(widget.MediumImportance, text)
			}
		})
	})
	to.dir.OnChanged = func(string) { // another folder is asked about anew
		over = report.KeepOld
		to.write.SetText("Write tables")
	}
}

// export writes the tables into dir and says what they hold.
func (w *window) export(dir string, over report.Over, done func(said string, err error)) {
	if dir == "" {
		done("", errors.New("name a folder"))
		return
	}
	e := &report.Export{Whose: w.s.Book().Counts(), Lacks: w.s.Book().Lacks}
	w.s.Book().Gather(e.Add, e.Wait, func(err error) {
		if err == nil {
			err = writeTables(dir, over, e)
		}
		if err != nil {
			done("", err)
			return
		}
		text := fmt.Sprintf("Written to %s: %d hips, %d films, %d readings, %d fitted numbers, and what each column means.",
			dir, e.Len("hips"), e.Len("films"), e.Len("readings"), e.Len("fits"))
		if names := e.Names(); len(names) > 0 {
			text += fmt.Sprintf(" Look at %q before the tables leave the house: it may be a name.", names[0])
		}
		done(text, nil)
	})
}

// writeTables writes all tables into dir, or none where one exists that is not to be
// written over.
func writeTables(dir string, over report.Over, e *report.Export) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for _, table := range report.ExportTables() {
		path := filepath.Join(dir, table+".csv")
		if _, err := os.Lstat(path); err == nil && over == report.KeepOld {
			return fmt.Errorf("%s: %w", path, fs.ErrExist)
		}
	}
	for _, table := range report.ExportTables() {
		err := report.SaveFile(filepath.Join(dir, table+".csv"), over, func(out io.Writer) error { return e.Write(out, table) })
		if err != nil {
			return err
		}
	}
	return nil
}

// askReader asks who reads from now on.
func (w *window) askReader(then func()) {
	code := newField(w, w.s.Reader())
	code.SetPlaceHolder("such as AB or R2")
	fault := faultNote()
	d := dialog.NewCustomWithoutButtons("Who reads?", container.NewVBox(
		note("The reader's code stands with every reading accepted from now on. Earlier readings keep theirs."), code, fault), w.win)
	ok := widget.NewButton("Read as this reader", func() {
		if err := w.s.SetReader(code.Text); err != nil {
			fault.SetText(study.Told(err))
			fault.Show()
			return
		}
		d.Hide()
		if then != nil {
			then()
		}
	})
	ok.Importance = widget.HighImportance
	code.OnSubmitted = func(string) { ok.OnTapped() }
	d.SetOnClosed(w.focusViewer)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Go back", d.Hide), ok})
	d.Resize(fyne.NewSize(460, 200))
	w.present(d)
	w.win.Canvas().Focus(code)
}
