package ui

import (
	"context"
	"errors"
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
		say("writing.writes-every-hip"),
		w.hipsText() + ".",
		say("writing.counted", "Rule", session.CountsWords(w.s.Book().Counts())),
	}
	replace := widget.NewCheck(say("writing.replace-export-folder"), nil)
	apart := widget.NewCheck(say("writing.without-identities-days"), nil)
	to := w.askFolder(say("writing.write-tables"), "-tables", about, func(to *writing, dir string) {
		to.tell(widget.MediumImportance, say("writing.reads-study"))
		w.export(dir, report.Over(replace.Checked), apart.Checked, func(text string, err error) {
			var foreign *report.ForeignError
			var there *fs.PathError
			switch {
			case errors.As(err, &there) && errors.Is(err, fs.ErrExist):
				to.done(widget.WarningImportance, say("writing.folder-holds", "File", filepath.Base(there.Path)))
			case errors.As(err, &foreign):
				to.done(widget.WarningImportance, say("writing.no-export", "File", filepath.Base(foreign.Path)))
			case err != nil:
				to.done(widget.DangerImportance, say("writing.failed", "Why", study.Told(err)))
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
		done("", errors.New(say("writing.name-folder")))
		return
	}
	b := w.s.Book()
	if err := b.Hidden(); err != nil {
		done("", err)
		return
	}
	o := dataset.Options{Whose: b.Counts(), Lacks: b.Lacks, Version: b.Program(), Deidentified: apart,
		Name: strings.TrimSuffix(study.NameOf(b.Path()), study.FileExt)}
	var told dataset.Told
	b.Apart(func(ctx context.Context, st study.Store) (err error) {
		told, err = dataset.Save(ctx, st, dir, over, o)
		return err
	}, func(err error) {
		if err != nil {
			done("", err)
			return
		}
		w.disclosed(study.WrittenTables, "")
		text := say("writing.tables-written", "Folder", dir, "Hips", told.Rows["hips"], "Films", told.Rows["films"]+told.Rows["unsorted"], "Readings", told.Rows["penetration"], "Fits", told.Rows["fits"])
		if len(told.Names) > 0 {
			text += " " + say("writing.look-at", "Names", told.Names[0])
		}
		done(text, nil)
	})
}

// askReader asks who reads from now on.
func (w *window) askReader(then func()) {
	code := newField(w, w.s.Reader())
	code.SetPlaceHolder(say("ask.such-reader"))
	fault := faultNote()
	d := dialog.NewCustomWithoutButtons(say("writing.who-reads"), container.NewVBox(
		note(say("writing.reader-code-stands")), code, fault), w.win)
	ok := widget.NewButton(say("writing.read-as-reader"), func() {
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
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), d.Hide), ok})
	d.Resize(fyne.NewSize(460, 200))
	w.present(d)
	w.win.Canvas().Focus(code)
}
