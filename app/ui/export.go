package ui

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/report/dataset"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

// askExport asks where the study goes as a data package, and how, and writes it.
func (w *window) askExport() {
	about := []string{
		"Writes every hip, film, reading and fit of the study as CSV, with a codebook, datapackage.json and scripts that load the tables " +
			"into R, Python, SPSS and Stata. Films that were left out or not read are rows with their reason; NA stands for what is not known. Codes only, no file names.",
		w.hipsText() + ".",
		"Counted: " + session.CountsWords(w.s.Book().Counts()) + ".",
	}
	replace := widget.NewCheck("Replace the export that is in the folder, as a whole", nil)
	apart := widget.NewCheck("Without identities: days since surgery in place of dates, no free text, no readers' codes", nil)
	to := w.askFolder("Write tables", "-tables", about, func(to *writing, dir string) {
		to.tell(widget.MediumImportance, "Reading the study …")
		w.export(dir, report.Over(replace.Checked), apart.Checked, func(text string, err error) {
			var foreign *report.ForeignError
			var there *fs.PathError
			switch {
			case errors.As(err, &there) && errors.Is(err, fs.ErrExist):
				to.done(widget.WarningImportance, fmt.Sprintf("Not written: the folder holds %s already. Name another folder, or have the export that is there replaced.", filepath.Base(there.Path)))
			case errors.As(err, &foreign):
				to.done(widget.WarningImportance, fmt.Sprintf("Not written: %s is no file of an export, and the folder is replaced as a whole. Name another folder.", filepath.Base(foreign.Path)))
			case err != nil:
				to.done(widget.DangerImportance, "Not written: "+study.Told(err)+".")
			default:
				replace.SetChecked(false)
				to.done(widget.MediumImportance, text)
			}
		})
	}, replace, apart)
	to.dir.OnChanged = func(string) { replace.SetChecked(false) } // another folder is asked about anew
}

// export writes the study into the folder dir and says what it holds.
func (w *window) export(dir string, over report.Over, apart bool, done func(said string, err error)) {
	if dir == "" {
		done("", errors.New("name a folder"))
		return
	}
	b := w.s.Book()
	o := dataset.Options{Whose: b.Counts(), Lacks: b.Lacks, Version: b.Program(), Deidentified: apart,
		Name: strings.TrimSuffix(filepath.Base(b.Path()), study.FileExt)}
	var told dataset.Told
	b.Apart(func(ctx context.Context, st study.Store) (err error) {
		told, err = dataset.Save(ctx, st, dir, over, o)
		return err
	}, func(err error) {
		if err != nil {
			done("", err)
			return
		}
		text := fmt.Sprintf("Written to %s: %d hips, %d films, %d readings, %d fitted numbers, and what each column means.",
			dir, told.Rows["hips"], told.Rows["films"]+told.Rows["unsorted"], told.Rows["penetration"], told.Rows["fits"])
		if len(told.Names) > 0 {
			text += fmt.Sprintf(" Look at %q before the tables leave the house: it may be a name.", told.Names[0])
		}
		done(text, nil)
	})
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
