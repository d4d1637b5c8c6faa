package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// sheet shows a form, a row for each thing that it asks.
type sheet struct {
	w      *window
	form   session.Form
	fields []*field // in the order in which they are asked
	needed []*field // of them
	reads  map[string]func() string
	faults map[string]*widget.Label
	blocks []fyne.CanvasObject // of the form
	why    *field              // why what was known is changed
	other  *widget.Label       // tells faults of no field
}

// labelWidth is that of what a row is called.
const labelWidth = 168

func newSheet(w *window, form session.Form) *sheet {
	s := &sheet{w: w, form: form, reads: map[string]func() string{}, faults: map[string]*widget.Label{}}
	for _, b := range form.Blocks {
		rows := container.New(layout.NewCustomPaddedVBoxLayout(1))
		if b.Name != "" {
			rows.Add(bold(b.Name))
		}
		units := false
		for _, a := range b.Asks {
			units = units || a.Unit != ""
		}
		for _, a := range b.Asks {
			rows.Add(s.row(a, units))
		}
		s.blocks = append(s.blocks, rows)
	}
	s.why, s.other = newField(w, ""), faultNote()
	s.why.SetPlaceHolder(say("asked.why-hint"))
	return s
}

// row asks one thing. units says that others in the block have a unit.
func (s *sheet) row(a session.Ask, units bool) fyne.CanvasObject {
	var input fyne.CanvasObject
	if a.Choices != nil {
		input = s.choice(a)
	} else {
		e := newField(s.w, a.Text)
		e.SetPlaceHolder(a.Hint)
		if s.fields = append(s.fields, e); a.Needed {
			s.needed = append(s.needed, e)
		}
		s.reads[a.Field] = func() string { return e.Text }
		input = e
	}
	var right fyne.CanvasObject
	if units {
		right = container.New(columnLayout{56}, widget.NewLabel(a.Unit)) // as wide in every row
	}
	return s.labelled(a.Field, a.Label, a.Needed, right, input)
}

// labelled puts what a row is called before its input, and its fault below.
func (s *sheet) labelled(field, label string, needed bool, right, input fyne.CanvasObject) fyne.CanvasObject {
	fault := faultNote()
	fault.SizeName = theme.SizeNameCaptionText
	s.faults[field] = fault
	name := widget.NewLabelWithStyle(label, fyne.TextAlignLeading, fyne.TextStyle{Bold: needed})
	name.Truncation = fyne.TextTruncateEllipsis
	left := container.New(columnLayout{labelWidth}, name)
	return container.NewBorder(nil, nil, left, nil, container.NewBorder(nil, fault, nil, right, input))
}

// choice offers the words of choices: of two that one is needed, side by side; else in a list,
// with none of them.
func (s *sheet) choice(a session.Ask) fyne.CanvasObject {
	var names []string
	for _, c := range a.Choices {
		names = append(names, c.Words)
	}
	now := ""
	if a.Text != "" {
		now = study.Words(a.Choices, a.Text)
	}
	if a.Needed && len(names) == 2 {
		g := widget.NewRadioGroup(names, nil)
		g.Horizontal = true
		g.SetSelected(now)
		s.reads[a.Field] = func() string { return codeOf(a.Choices, g.Selected) }
		return g
	}
	unknown := a.Hint // where none of them means something else
	if unknown == "" {
		unknown = say("asked.unknown")
	}
	if now == "" {
		now = unknown
	}
	l := widget.NewSelect(append([]string{unknown}, names...), nil)
	l.SetSelected(now)
	s.reads[a.Field] = func() string { return codeOf(a.Choices, l.Selected) }
	return l
}

// codeOf returns the code of words among choices, empty for none.
func codeOf(choices []study.Choice, words string) string {
	for _, c := range choices {
		if c.Words == words {
			return c.Code
		}
	}
	return ""
}

// asksWhy returns the row in which a reason is asked.
func (s *sheet) asksWhy() fyne.CanvasObject {
	return s.labelled(session.FieldWhy, say("asked.why"), false, nil, s.why)
}

// read puts what was entered in the form.
func (s *sheet) read() {
	for field, text := range s.reads {
		s.form.Enter(field, text())
	}
}

// tell shows faults beside their fields.
func (s *sheet) tell(faults []session.FormFault) {
	for _, l := range s.faults {
		l.Hide()
	}
	s.other.Hide()
	for _, f := range faults {
		l := s.faults[f.Field]
		if l == nil {
			l = s.other
		}
		l.SetText(f.Message)
		l.Show()
	}
	for _, b := range s.blocks {
		b.Refresh()
	}
}

// submits has Enter in any field do what ok does.
func (s *sheet) submits(ok func()) {
	for _, e := range append(s.fields, s.why) {
		e.OnSubmitted = func(string) { ok() }
	}
}

// first is the field to begin with: the first that is needed and in which nothing stands, or
// the first.
func (s *sheet) first() *field {
	for _, e := range s.needed {
		if e.Text == "" {
			return e
		}
	}
	return s.fields[0]
}
