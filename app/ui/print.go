package ui

import (
	"errors"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/report/paper"
	"linerwatch/app/report/patient"
	"linerwatch/app/report/reader"
	"linerwatch/app/session"
	"linerwatch/app/settings"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// printed is what is printed of a hip.
type printed int

const (
	forPatient printed = iota
	forReaders
)

func printedWords() []string { return []string{say("printing.patient"), say("printing.reader")} }

// printing is the dialog that asks how a page is printed, writes it as a PDF and has the
// system show it, which prints it.
type printing struct {
	w        *window
	what     *passingSelect
	language *passingSelect
	size     *passingSelect
	clinic   *field
	whom     *field
	file     *field
	said     *widget.Label
	write    *widget.Button
	paceMM   float64
	over     report.Over
}

// print asks for what is in front: the patient's page, the report of the study, or that of
// the hip.
func (w *window) print() {
	_, known := w.s.Hip()
	switch p := w.pages[w.at].(type) {
	case *patientView:
		w.askPrint(forPatient, p.language, p.asked())
		return
	case *hipsPage, *agreementPage, *listsPage:
		known = false
	}
	switch {
	case known:
		w.askPrint(forReaders, pageLanguage(w.s), 0)
	case w.s.Book().Path() != "":
		w.withNumbers(w.askReport)
	}
}

// askPrint asks how something is printed; paceMM is the distance that a patient's page
// reckons a time for, 0 for none.
func (w *window) askPrint(what printed, language string, paceMM float64) *printing {
	last := w.s.Print()
	p := &printing{w: w, paceMM: paceMM, said: widget.NewLabel(""), write: widget.NewButton(say("printing.write"), nil),
		clinic: newField(w, last.Clinic), whom: newField(w, last.Whom)}
	p.file = newField(w, w.printFile(what))
	p.what = newSelect(w, printedWords(), nil)
	p.what.SetSelectedIndex(int(what))
	p.what.OnChanged = func(string) { p.file.SetText(w.printFile(p.kind())) }
	p.language = newSelect(w, languages(), nil)
	p.language.SetSelected(languageName(language))
	p.size = newSelect(w, []string{"A4", "Letter"}, nil)
	p.size.SetSelectedIndex(max(0, slices.Index(papers, paper.Size(last.Paper))))
	p.clinic.SetPlaceHolder(say("printing.heading-hint"))
	p.whom.SetPlaceHolder(say("printing.whom-hint"))
	p.file.SetPlaceHolder(say("printing.file-hint"))
	p.file.OnChanged = func(string) { p.keep() }
	p.file.OnSubmitted = func(string) { p.write.OnTapped() }
	p.said.Wrapping = fyne.TextWrapWord
	p.write.Importance, p.write.OnTapped = widget.HighImportance, p.run
	d := dialog.NewCustomWithoutButtons(say("printing.title"), p.form(), w.win)
	d.SetOnClosed(w.focusViewer)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), d.Hide), p.write})
	d.Resize(fyne.NewSize(640, 430))
	w.present(d)
	w.win.Canvas().Focus(p.file)
	return p
}

var papers = []paper.Size{paper.A4, paper.Letter}

// languages are the languages of pages by their own names.
func languages() (names []string) {
	for _, code := range texts.Codes() {
		names = append(names, languageName(code))
	}
	return names
}

func (p *printing) form() fyne.CanvasObject {
	about := say("printing.about")
	if p.paceMM > 0 {
		about += " " + say("printing.with-pace")
	}
	return container.NewVBox(note(about), container.New(layout.NewFormLayout(),
		bold(say("printing.what")), p.what, bold(say("printing.language")), p.language, bold(say("printing.paper")), p.size,
		bold(say("printing.heading")), p.clinic, bold(say("printing.whom")), p.whom, bold(say("writing.file")), p.file), p.said)
}

// kind is what is chosen.
func (p *printing) kind() printed { return printed(max(0, p.what.SelectedIndex())) }

// code is that of the language that is chosen.
func (p *printing) code() string { return texts.Codes()[max(0, p.language.SelectedIndex())] }

// keep has another file asked about anew.
func (p *printing) keep() {
	p.over = report.KeepOld
	p.write.SetText(say("printing.write"))
}

// printFile is a file beside the study's for what is printed of the hip.
func (w *window) printFile(what printed) string {
	h, _ := w.s.Hip()
	path := w.stem()
	if path == "" || h.ID == "" {
		return ""
	}
	file := strings.TrimSuffix(path, study.FileExt) + "-" + h.ID + []string{"-patient.pdf", "-reader.pdf"}[what]
	if abs, err := filepath.Abs(file); err == nil {
		return abs
	}
	return file
}

func (p *printing) tell(importance widget.Importance, text string) {
	p.said.Importance = importance
	p.said.SetText(text)
}

// run writes what is chosen and has it shown.
func (p *printing) run() {
	size := papers[max(0, p.size.SelectedIndex())]
	p.w.told(p.w.s.SetPrint(settings.Print{Clinic: p.clinic.Text, Whom: p.whom.Text, Paper: string(size), Language: p.code()}))
	file := strings.TrimSpace(p.file.Text)
	if file == "" {
		dir, err := os.MkdirTemp("", "linerwatch-")
		if err != nil {
			p.tell(widget.DangerImportance, say("writing.failed", "Why", err.Error()))
			return
		}
		file = filepath.Join(dir, "page.pdf")
	}
	p.write.Disable()
	p.tell(widget.MediumImportance, say("writing.busy"))
	h, _ := p.w.s.Hip()
	if p.kind() == forPatient {
		p.ended(study.PatientPage, h, file, p.w.writePatient(p, size, file))
		return
	}
	p.w.writeReader(p, size, file, func(err error) { p.ended(study.ReaderReport, h, file, err) })
}

// ended says what became of the file that tells of a hip.
func (p *printing) ended(kind study.DisclosureKind, h study.Hip, file string, err error) {
	p.write.Enable()
	switch {
	case errors.Is(err, fs.ErrExist):
		p.over = report.Replace
		p.write.SetText(say("printing.write-over"))
		p.tell(widget.WarningImportance, say("writing.there-already"))
		return
	case err != nil:
		p.tell(widget.DangerImportance, say("writing.failed", "Why", study.Told(err)))
		return
	}
	p.w.disclosed(kind, h.ID)
	p.keep()
	text := say("writing.written", "Path", file)
	if err := p.w.view(file); err != nil {
		p.tell(widget.WarningImportance, text+" "+say("printing.no-viewer", "Why", err.Error()))
		return
	}
	p.tell(widget.MediumImportance, text)
}

// view has the system's viewer show a file.
func (w *window) view(file string) error {
	u, err := url.Parse(storage.NewFileURI(file).String())
	if err != nil {
		return err
	}
	return fyne.CurrentApp().OpenURL(u)
}

// writePatient writes the patient's page of the open hip.
func (w *window) writePatient(p *printing, size paper.Size, file string) error {
	if _, err := w.s.Course().Accepted(); err != nil {
		return err
	}
	stamp := w.s.Stamp()
	page := patientPage(w.s, p.code())
	return report.SaveFile(file, p.over, func(out io.Writer) error {
		return page.PDF(out, patient.Print{Size: size, Clinic: p.clinic.Text, Whom: p.whom.Text, PaceMM: p.paceMM, Date: stamp.At, Program: report.Program(stamp.Version)})
	})
}

// writeReader writes the reader's report of the open hip, which is read in the background.
func (w *window) writeReader(p *printing, size paper.Size, file string, done func(error)) {
	stamp, speech, over, clinic := w.s.Stamp(), speechOf(p.code()), p.over, p.clinic.Text
	rep := &reader.Report{Reader: w.s.Book().Counts()}
	plan := func(r study.Record) ([]string, []study.Measurement, error) {
		rep.Record = r
		err := rep.Tell()
		return rep.Counting(), rep.Shown(), err
	}
	w.s.Book().TellHip(plan, reader.PictureSide, func(told session.Told, err error) {
		if err == nil {
			rep.Changes, rep.FilmChanges, rep.Points = told.Changes, told.Films, told.Points
			for id, pic := range told.Pictures {
				rep.Show(id, reader.Picture(pic))
			}
			err = report.SaveFile(file, over, func(out io.Writer) error {
				return rep.PDF(out, speech, reader.Print{Size: size, Clinic: clinic, Date: stamp.At, Program: report.Program(stamp.Version)})
			})
		}
		done(err)
	})
}
