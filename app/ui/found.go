package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// showFound shows what was found in the files that were opened last, and then asks what
// only the reader can know.
func (w *window) showFound() {
	f := w.s.Intake().Found()
	table := widgets.NewTable(widgets.Column{Title: say("found.whose-their-files"), Share: 1.3}, widgets.Column{Title: say("found.films"), Share: 0.9},
		widgets.Column{Title: say("found.dates"), Share: 1.4}, widgets.Column{Title: say("found.where-they-now"), Share: 2})
	var rows [][]widgets.Cell
	waits := false
	for _, s := range f.Sorts {
		rows = append(rows, sortCells(s))
		waits = waits || s.Waits != study.Sorted || s.Copies
	}
	for _, u := range f.Faults {
		rows = append(rows, []widgets.Cell{{Text: u.Name, Code: true}, {Text: "–", Color: widgets.Muted}, {Text: "–", Color: widgets.Muted},
			{Text: say("found.cannot-read"), Color: widgets.Fault, More: study.NoteWords(u.Why)}})
	}
	table.Set(rows, -1)
	head := say("found.file-files-opened", "Len", f.Files-len(f.Faults))
	if n := len(f.Faults); n > 0 {
		head += " " + say("found.could-not-read", "N", n)
	}
	if f.Rest > 0 {
		head += " " + say("found.stopped-before", "N", f.Rest, "Key", w.keyLabel(stopWork))
	}
	if n := len(f.Doubles); n > 0 {
		head += " " + say("found.each-picture", "Have", haveHas(n), "Names", session.SomeOf(f.Doubles, ", "))
	}
	if n := len(f.Pictures); n > 0 {
		head += " " + study.NoteWords(study.Note{Code: "joined.pictures", Values: study.Values{"N": float64(n), "Names": session.SomeOf(f.Pictures, ", ")}})
	}
	if len(f.Passed) > 0 {
		head += " " + say("found.passed-over", "What", study.PassedWords(f.Passed))
	}
	top := widget.NewLabel(head)
	top.Wrapping = fyne.TextWrapWord
	foot := note(say("found.hip-takes", "Key", hipsKind().turns.label))
	d := dialog.NewCustomWithoutButtons(say("found.what-opened"), container.NewBorder(top, foot, nil, nil, table), w.win)
	closed := func() {
		d.Hide()
		w.changed(session.FilmsChanged | session.HipChanged) // what is still to be asked
		w.focusViewer()
	}
	goOn := widget.NewButton(say("button.go-on"), closed)
	goOn.Importance = widget.HighImportance
	buttons := []fyne.CanvasObject{goOn}
	if waits {
		buttons = []fyne.CanvasObject{widget.NewButton(say("found.show-hips"), func() {
			w.asked = true // the form is asked for again when a hip is begun
			closed()
			w.turn(w.placeOf(hipsKind().word))
		}), goOn}
	}
	if len(f.Faults) > 0 {
		buttons = append([]fyne.CanvasObject{widget.NewButton(say("button.try-again"), func() { closed(); w.s.Intake().Retry() })}, buttons...)
	}
	if len(w.s.Intake().Disputes()) > 0 {
		buttons = append([]fyne.CanvasObject{widget.NewButton(say("found.whose-tags-stand"), func() { closed(); w.askDisputes() })}, buttons...)
	}
	if f.Rest > 0 {
		buttons = append([]fyne.CanvasObject{widget.NewButton(say("found.open-others"), func() { closed(); w.s.Work().Resume() })}, buttons...)
	}
	d.SetButtons(buttons)
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(size.Width*0.86, 980), min(size.Height*0.9, float32(240+44*min(len(rows), 9)))))
	w.propose(d, closed)
}

// sortCells is a line about films of one patient and side.
func sortCells(s session.Sort) []widgets.Cell {
	films := widgets.Cell{Text: say("found.film-films", "Films", s.Films)}
	var views []string
	for _, v := range s.Views {
		views = append(views, string(v))
	}
	if films.More = strings.Join(views, ", "); films.More == "" {
		films.More = say("found.view-not-named")
	}
	dates := widgets.Cell{Text: say("found.no-dates")}
	switch {
	case s.First.IsZero():
	case s.First.Equal(s.Last):
		dates.Text = s.First.Format("2006-01-02")
	default:
		dates.Text = say("found.from-to", "From", s.First.Format("2006-01-02"), "To", s.Last.Format("2006-01-02"))
	}
	if s.Undated > 0 && !s.First.IsZero() {
		dates.More = say("found.without-date", "N", s.Undated)
	}
	at := widgets.Cell{Text: say("found.strip"), More: say("found.films-hip-open")}
	switch {
	case s.Copies && !s.Contradicts.IsZero():
		at = widgets.Cell{Text: say("found.study-other-tags"), More: study.NoteWords(s.Contradicts), Color: widgets.Watch}
	case s.Copies && s.Hip != "":
		at = widgets.Cell{Text: say("found.already"), More: say("found.stays", "Hip", s.Hip)}
	case s.Copies:
		at = widgets.Cell{Text: say("found.already"), More: say("found.they-wait-there")}
	case s.Waits == study.NotAP:
		at = widgets.Cell{Text: say("found.not-ap", "Why", study.NoteWords(s.Reason)), More: say("found.waits-until-reader"), Color: widgets.Watch}
	case s.Waits != study.Sorted && s.Hip != "":
		at = widgets.Cell{Text: say("found.waits", "Hip", s.Hip), More: say("found.hip-study-open"), Color: widgets.Watch}
	case s.Waits != study.Sorted:
		at = widgets.Cell{Text: say("found.waits-hip-not"), More: say("found.another-patient-or"), Color: widgets.Watch}
	}
	whose := widgets.Cell{Text: s.Patient, Code: true, More: s.Side.String()}
	if s.Patient == "" {
		whose.Text, whose.Color = say("found.no-patient-code"), widgets.Muted
	}
	if s.Side == study.SideUnknown {
		whose.More = say("found.side-not-named")
	}
	return []widgets.Cell{whose, films, dates, at}
}

func haveHas(n int) string {
	if n == 1 {
		return say("found.one-file-has")
	}
	return say("found.files-have", "N", n)
}

// foundItems offers to show again what was opened last.
func (w *window) foundItems() []*fyne.MenuItem {
	if w.s.Intake().Found().Files == 0 {
		return nil
	}
	return []*fyne.MenuItem{fyne.NewMenuItemSeparator(), fyne.NewMenuItem(say("found.what-opened-last"), w.showFound)}
}
