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
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// printed is what is printed of a hip.
type printed int

const (
	forPatient printed = iota
	forReaders
)

var printedWords = []string{"The patient's page", "The reader's report"}

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

const (
	writeWords = "Write and open"
	overWords  = "Write over it and open"
)

// print asks for what is in front: the patient's page, or the report of the hip.
func (w *window) print() {
	if p, ok := w.pages[w.at].(*patientView); ok {
		w.askPrint(forPatient, p.language, p.asked())
		return
	}
	if _, known := w.s.Hip(); known {
		w.askPrint(forReaders, pageLanguage(w.s), 0)
	}
}

// askPrint asks how something is printed; paceMM is the distance that a patient's page
// reckons a time for, 0 for none.
func (w *window) askPrint(what printed, language string, paceMM float64) *printing {
	last := w.s.Print()
	p := &printing{w: w, paceMM: paceMM, said: widget.NewLabel(""), write: widget.NewButton(writeWords, nil),
		clinic: newField(w, last.Clinic), whom: newField(w, last.Whom)}
	p.file = newField(w, w.printFile(what))
	p.what = newSelect(w, printedWords, nil)
	p.what.SetSelectedIndex(int(what))
	p.what.OnChanged = func(string) { p.file.SetText(w.printFile(p.kind())) }
	p.language = newSelect(w, languages(), nil)
	p.language.SetSelected(languageName(language))
	p.size = newSelect(w, []string{"A4", "Letter"}, nil)
	p.size.SetSelectedIndex(max(0, slices.Index(papers, paper.Size(last.Paper))))
	p.clinic.SetPlaceHolder("the clinic's own heading; may be empty")
	p.whom.SetPlaceHolder("whom the patient may ask; may be empty")
	p.file.SetPlaceHolder("empty: a temporary file")
	p.file.OnChanged = func(string) { p.keep() }
	p.file.OnSubmitted = func(string) { p.write.OnTapped() }
	p.said.Wrapping = fyne.TextWrapWord
	p.write.Importance, p.write.OnTapped = widget.HighImportance, p.run
	d := dialog.NewCustomWithoutButtons("Print", p.form(), w.win)
	d.SetOnClosed(w.focusViewer)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Close", d.Hide), p.write})
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
	about := "Accepted readings alone. The page is written as a PDF, which the system's viewer shows and prints."
	if p.paceMM > 0 {
		about += " With the arithmetic that is chosen on the page."
	}
	return container.NewVBox(note(about), container.New(layout.NewFormLayout(),
		bold("What"), p.what, bold("Language"), p.language, bold("Paper"), p.size,
		bold("Heading"), p.clinic, bold("Ask"), p.whom, bold("File"), p.file), p.said)
}

// kind is what is chosen.
func (p *printing) kind() printed { return printed(max(0, p.what.SelectedIndex())) }

// code is that of the language that is chosen.
func (p *printing) code() string { return texts.Codes()[max(0, p.language.SelectedIndex())] }

// keep has another file asked about anew.
func (p *printing) keep() {
	p.over = report.KeepOld
	p.write.SetText(writeWords)
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
	p.w.told(p.w.s.SetPrint(session.PrintSettings{Clinic: p.clinic.Text, Whom: p.whom.Text, Paper: string(size), Language: p.code()}))
	file := strings.TrimSpace(p.file.Text)
	if file == "" {
		dir, err := os.MkdirTemp("", "linerwatch-")
		if err != nil {
			p.tell(widget.DangerImportance, "Not written: "+err.Error()+".")
			return
		}
		file = filepath.Join(dir, "page.pdf")
	}
	p.write.Disable()
	p.tell(widget.MediumImportance, "Writing …")
	if p.kind() == forPatient {
		p.ended(file, p.w.writePatient(p, size, file))
		return
	}
	p.w.writeReader(p, size, file, func(err error) { p.ended(file, err) })
}

// ended says what became of the file.
func (p *printing) ended(file string, err error) {
	p.write.Enable()
	switch {
	case errors.Is(err, fs.ErrExist):
		p.over = report.Replace
		p.write.SetText(overWords)
		p.tell(widget.WarningImportance, "Not written: there is such a file already. Name another one, or write over it.")
		return
	case err != nil:
		p.tell(widget.DangerImportance, "Not written: "+study.Told(err)+".")
		return
	}
	p.keep()
	text := "Written to " + file + "."
	if err := p.w.view(file); err != nil {
		p.tell(widget.WarningImportance, text+" The system shows no PDF: "+err.Error()+".")
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
