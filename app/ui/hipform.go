package ui

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// hipForm asks implant and dates of a hip.
type hipForm struct {
	patient, group, surgery, start *field
	head, liner, shell             *field
	side, pe                       *widget.RadioGroup
	material, fixation             *widget.Select
	faults                         map[string]*widget.Label
	rows                           *fyne.Container
	rests                          *widget.Label // what is computed anew
	asked                          study.Hip     // the hip for which that was said
	rest                           study.Hip     // whose other details stay
}

// The words of the button that takes the form, and that agrees to what it changes.
const (
	useHip  = "Use for this hip"
	anewHip = "Compute them anew"
)

// peUnknown is the choice that stands for no statement.
const peUnknown = "not known"

func newHipForm(w *window, f session.HipForm) *hipForm {
	h := &hipForm{faults: map[string]*widget.Label{}, rows: container.New(layout.NewCustomPaddedVBoxLayout(1)), rest: f.Rest}
	entry := func(text, hint string) *field {
		e := newField(w, text)
		e.SetPlaceHolder(hint)
		return e
	}
	h.rests = widget.NewLabel("")
	h.rests.Wrapping, h.rests.Importance = fyne.TextWrapWord, widget.WarningImportance
	h.rests.Hide()
	h.patient = entry(f.Patient, "a code, never a name")
	h.group = entry(f.Group, "of the study; may stay empty")
	h.shell = entry(f.ShellMM, "outer diameter; may stay empty")
	h.material = choiceSelect(study.HeadMaterials(), f.HeadMaterial)
	h.fixation = choiceSelect(study.Fixations(), f.Fixation)
	h.surgery = entry(f.Surgery, "year-month-day, such as 2004-05-03")
	h.head = entry(f.HeadMM, "such as 28")
	h.liner = entry(f.LinerMM, "may stay empty")
	h.start = entry(f.StartYears, "1")
	h.side = widget.NewRadioGroup([]string{"right", "left"}, nil)
	h.side.Horizontal = true
	h.side.SetSelected(f.Side)
	h.pe = widget.NewRadioGroup([]string{"XLPE", "conventional", peUnknown}, nil)
	h.pe.Horizontal, h.pe.Required = true, true
	h.pe.SetSelected(peUnknown)
	if f.PE != "" {
		h.pe.SetSelected(f.PE)
	}
	h.row("Patient code", "", session.FieldPatient, h.patient)
	h.row("Group", "", session.FieldGroup, h.group)
	h.row("Side", "", session.FieldSide, h.side)
	h.row("Date of surgery", "", session.FieldSurgery, h.surgery)
	h.row("Head diameter", "mm", session.FieldHead, h.head)
	h.row("Head material", "", session.FieldMaterial, h.material)
	h.row("Liner thickness", "mm", session.FieldLiner, h.liner)
	h.row("Polyethylene", "", session.FieldPE, h.pe)
	h.row("Shell or cup", "mm", session.FieldShell, h.shell)
	h.row("Fixation", "", session.FieldFixation, h.fixation)
	h.row("Steady state from", "years", session.FieldStart, h.start)
	return h
}

func (h *hipForm) row(name, unit, field string, input fyne.CanvasObject) {
	label := widget.NewLabel(name)
	fault := faultNote()
	fault.SizeName = theme.SizeNameCaptionText
	h.faults[field] = fault
	left := container.New(columnLayout{140}, label)
	var right fyne.CanvasObject
	if unit != "" {
		right = container.New(columnLayout{52}, widget.NewLabel(unit)) // as wide in every row
	}
	h.rows.Add(container.NewBorder(nil, nil, left, nil, container.NewBorder(nil, fault, nil, right, input)))
}

// form returns what was entered.
func (h *hipForm) form() session.HipForm {
	f := session.HipForm{Rest: h.rest,
		Patient: h.patient.Text, Side: h.side.Selected, Surgery: h.surgery.Text, HeadMM: h.head.Text,
		LinerMM: h.liner.Text, PE: h.pe.Selected, StartYears: h.start.Text, Group: h.group.Text,
		ShellMM: h.shell.Text, HeadMaterial: chosen(study.HeadMaterials(), h.material), Fixation: chosen(study.Fixations(), h.fixation),
	}
	if f.PE == peUnknown {
		f.PE = ""
	}
	return f
}

// tell shows faults beside their fields.
func (h *hipForm) tell(faults []session.FormFault) {
	for _, l := range h.faults {
		l.Hide()
	}
	for _, f := range faults {
		l := h.faults[f.Field]
		if l == nil {
			l = h.faults[session.FieldStart]
		}
		l.SetText(f.Message)
		l.Show()
	}
	h.rows.Refresh()
}

// agreed reports whether a hip may be taken on which readings rest as rests says: where
// it says so of this hip for the second time. The first time it asks.
func (h *hipForm) agreed(ok *widget.Button, hip study.Hip, rests string) bool {
	yes := rests == "" || hip == h.asked
	h.asked = hip
	h.rests.SetText(rests + " Each stays kept as it was accepted.")
	show(h.rests, rests != "")
	text := useHip
	if rests != "" {
		text = anewHip
	}
	ok.SetText(text)
	return yes
}

// askHip shows the form, filled with what is known.
func (w *window) askHip() {
	if w.asking {
		return
	}
	w.asking = true
	h := newHipForm(w, w.s.Form())
	later := "Later"
	if _, known := w.s.Hip(); known {
		later = "Go back"
	}
	d := dialog.NewCustomWithoutButtons("Implant and dates of this hip", container.NewBorder(
		note("From the operation note, asked once per hip. Code, side, date of surgery and head diameter are needed: every millimetre follows from the head. The rest may wait."), h.rests, nil, nil,
		container.NewVScroll(h.rows)), w.win)
	d.SetOnClosed(func() { w.asking = false; w.focusViewer() })
	ok := widget.NewButton(useHip, nil)
	ok.OnTapped = func() {
		hip, faults := h.form().Hip(time.Now())
		if len(faults) == 0 && !h.agreed(ok, hip, w.s.Rests(hip)) {
			h.tell(nil)
			return
		}
		if len(faults) == 0 {
			err := w.s.SetHip(hip)
			if _, clash := w.s.Book().Conflict(); clash {
				d.Hide() // what was entered is in the question that follows
				return
			}
			if err != nil {
				faults = []session.FormFault{{Field: session.FieldStart, Message: study.Told(err)}}
			}
		}
		h.tell(faults)
		if len(faults) == 0 {
			d.Hide()
		}
	}
	ok.Importance = widget.HighImportance
	for _, e := range []*field{h.patient, h.group, h.surgery, h.head, h.liner, h.shell, h.start} {
		e.OnSubmitted = func(string) { ok.OnTapped() }
	}
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(later, d.Hide), ok})
	d.Resize(fyne.NewSize(560, min(640, w.win.Canvas().Size().Height-40)))
	w.present(d)
	first := h.patient
	if h.patient.Text != "" {
		first = h.surgery
	}
	w.win.Canvas().Focus(first)
}

// choiceSelect offers the words of choices, and none of them.
func choiceSelect(choices []study.Choice, code string) *widget.Select {
	names := []string{peUnknown}
	for _, c := range choices {
		names = append(names, c.Words)
	}
	s := widget.NewSelect(names, nil)
	s.SetSelected(peUnknown)
	if code != "" {
		s.SetSelected(study.Words(choices, code))
	}
	return s
}

// chosen returns the code that was chosen, empty for none.
func chosen(choices []study.Choice, s *widget.Select) string {
	for _, c := range choices {
		if c.Words == s.Selected {
			return c.Code
		}
	}
	return ""
}
