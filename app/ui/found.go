package ui

import (
	"fmt"
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
	table := widgets.NewTable(widgets.Column{Title: "Whose, by their files", Share: 1.3}, widgets.Column{Title: "Films", Share: 0.9},
		widgets.Column{Title: "Dates", Share: 1.4}, widgets.Column{Title: "Where they are now", Share: 2})
	var rows [][]widgets.Cell
	waits := false
	for _, s := range f.Sorts {
		rows = append(rows, sortCells(s))
		waits = waits || s.Waits != study.Sorted || s.Copies
	}
	for _, u := range f.Faults {
		rows = append(rows, []widgets.Cell{{Text: u.Name, Code: true}, {Text: "–", Color: widgets.Muted}, {Text: "–", Color: widgets.Muted},
			{Text: "cannot be read", Color: widgets.Fault, More: study.NoteWords(u.Why)}})
	}
	table.Set(rows, -1)
	head := study.Count(f.Files-len(f.Faults), "file") + " opened."
	if n := len(f.Faults); n > 0 {
		head += fmt.Sprintf(" %d could not be read.", n)
	}
	if f.Rest > 0 {
		head += fmt.Sprintf(" It was stopped before %d more, which %s opens, now or later.", f.Rest, w.keyLabel(stopWork))
	}
	if n := len(f.Doubles); n > 0 {
		head += fmt.Sprintf(" Each picture is one film: %s the picture of another (%s).", haveHas(n), session.SomeOf(f.Doubles, ", "))
	}
	if n := len(f.Pictures); n > 0 {
		head += " " + study.NoteWords(study.Note{Code: "joined.pictures", Values: study.Values{"N": float64(n), "Names": session.SomeOf(f.Pictures, ", ")}})
	}
	if len(f.Passed) > 0 {
		head += " Passed over: " + study.PassedWords(f.Passed) + "."
	}
	top := widget.NewLabel(head)
	top.Wrapping = fyne.TextWrapWord
	foot := note("The hip that is open takes only films that may be its own. Films that wait are rows of the page Hips (" + hipsKind().turns.label + ") until they are begun or taken.")
	d := dialog.NewCustomWithoutButtons("What was opened", container.NewBorder(top, foot, nil, nil, table), w.win)
	closed := func() {
		d.Hide()
		w.changed(session.FilmsChanged | session.HipChanged) // what is still to be asked
		w.focusViewer()
	}
	goOn := widget.NewButton("Go on", closed)
	goOn.Importance = widget.HighImportance
	buttons := []fyne.CanvasObject{goOn}
	if waits {
		buttons = []fyne.CanvasObject{widget.NewButton("Show the hips", func() {
			w.asked = true // the form is asked for again when a hip is begun
			closed()
			w.turn(w.placeOf(hipsKind().word))
		}), goOn}
	}
	if len(f.Faults) > 0 {
		buttons = append([]fyne.CanvasObject{widget.NewButton("Try again", func() { closed(); w.s.Intake().Retry() })}, buttons...)
	}
	if len(w.s.Intake().Disputes()) > 0 {
		buttons = append([]fyne.CanvasObject{widget.NewButton("Whose tags stand …", func() { closed(); w.askDisputes() })}, buttons...)
	}
	if f.Rest > 0 {
		buttons = append([]fyne.CanvasObject{widget.NewButton("Open the others", func() { closed(); w.s.Work().Resume() })}, buttons...)
	}
	d.SetButtons(buttons)
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(size.Width*0.86, 980), min(size.Height*0.9, float32(240+44*min(len(rows), 9)))))
	w.propose(d, closed)
}

// sortCells is a line about films of one patient and side.
func sortCells(s session.Sort) []widgets.Cell {
	films := widgets.Cell{Text: study.Count(s.Films, "film")}
	var views []string
	for _, v := range s.Views {
		views = append(views, string(v))
	}
	if films.More = strings.Join(views, ", "); films.More == "" {
		films.More = "view not named"
	}
	dates := widgets.Cell{Text: "no dates"}
	switch {
	case s.First.IsZero():
	case s.First.Equal(s.Last):
		dates.Text = s.First.Format("2006-01-02")
	default:
		dates.Text = s.First.Format("2006-01-02") + " to " + s.Last.Format("2006-01-02")
	}
	if s.Undated > 0 && !s.First.IsZero() {
		dates.More = fmt.Sprintf("%d without a date", s.Undated)
	}
	at := widgets.Cell{Text: "in the strip", More: "films of the hip that is open"}
	switch {
	case s.Copies && !s.Contradicts.IsZero():
		at = widgets.Cell{Text: "in this study with other tags", More: study.NoteWords(s.Contradicts), Color: widgets.Watch}
	case s.Copies && s.Hip != "":
		at = widgets.Cell{Text: "already in this study", More: "films of " + s.Hip + ", which stays as it is"}
	case s.Copies:
		at = widgets.Cell{Text: "already in this study", More: "they wait there"}
	case s.Waits == study.NotAP:
		at = widgets.Cell{Text: "not AP: " + study.NoteWords(s.Reason), More: "waits until a reader takes it in", Color: widgets.Watch}
	case s.Waits != study.Sorted && s.Hip != "":
		at = widgets.Cell{Text: "waits for " + s.Hip, More: "a hip of the study; open it from the hips", Color: widgets.Watch}
	case s.Waits != study.Sorted:
		at = widgets.Cell{Text: "waits: a hip not begun", More: "of another patient or side than the hip that is open", Color: widgets.Watch}
	}
	whose := widgets.Cell{Text: s.Patient, Code: true, More: s.Side.String()}
	if s.Patient == "" {
		whose.Text, whose.Color = "no patient code", widgets.Muted
	}
	if s.Side == study.SideUnknown {
		whose.More = "side not named"
	}
	return []widgets.Cell{whose, films, dates, at}
}

func haveHas(n int) string {
	if n == 1 {
		return "one file has"
	}
	return fmt.Sprintf("%d files have", n)
}

// foundItems offers to show again what was opened last.
func (w *window) foundItems() []*fyne.MenuItem {
	if w.s.Intake().Found().Files == 0 {
		return nil
	}
	return []*fyne.MenuItem{fyne.NewMenuItemSeparator(), fyne.NewMenuItem("What was opened last …", w.showFound)}
}
