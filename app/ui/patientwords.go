package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report/patient"
	"linerwatch/app/session"
)

// patientPage returns the words about the open hip, of accepted readings, in the language of
// a code.
func patientPage(s *session.Session, code string) patient.Page {
	hip, _ := s.Hip()
	h := patient.Hip{Hip: hip}
	h.Trend, h.Err = s.Course().Accepted()
	for _, f := range s.Strip().Films() {
		switch {
		case f.Excluded != nil:
			h.LeftOut++
		case f.Accepted == nil && f.Draft != nil:
			h.Waiting++
		}
	}
	return patient.New(h, speechOf(code))
}

func heading(s string) widget.RichTextSegment {
	return &widget.TextSegment{Text: s, Style: widget.RichTextStyle{SizeName: theme.SizeNameSubHeadingText, TextStyle: fyne.TextStyle{Bold: true}}}
}

func paragraph(s string) widget.RichTextSegment {
	return &widget.TextSegment{Text: s, Style: widget.RichTextStyle{SizeName: theme.SizeNameText}}
}

// plainCaption is a line or two below a drawing.
func plainCaption() *widget.Label {
	l := widget.NewLabel("")
	l.Wrapping, l.SizeName = fyne.TextWrapWord, theme.SizeNameCaptionText
	return l
}

// segments are blocks of words as the window shows them.
func segments(first []string, blocks ...patient.Block) (out []widget.RichTextSegment) {
	for _, text := range first {
		out = append(out, paragraph(text))
	}
	for _, b := range blocks {
		if b.Head != "" {
			out = append(out, heading(b.Head))
		}
		for _, text := range b.Text {
			out = append(out, paragraph(text))
		}
	}
	return out
}
