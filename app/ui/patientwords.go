package ui

import (
	"fmt"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// paceWords is plain arithmetic: how long a distance takes at a pace between lo
// and hi mm a year.
func paceWords(mm, lo, hi float64) string {
	const change = " A pace can change, so this is arithmetic and no forecast."
	switch {
	case hi <= 0:
		return "The films show no movement inwards, so there is no pace to reckon with." + change
	case lo <= 0 || mm/lo > 200:
		return fmt.Sprintf("At this pace, %g mm takes %s years or longer; how much longer the films cannot tell.", mm, roundYears(mm/hi)) + change
	}
	a, b := roundYears(mm/hi), roundYears(mm/lo)
	if a == b {
		return fmt.Sprintf("At this pace, %g mm takes about %s years.", mm, a) + change
	}
	return fmt.Sprintf("At this pace, %g mm takes about %s to %s years.", mm, a, b) + change
}

func roundYears(y float64) string {
	if y < 10 {
		return number(math.Round(y*10) / 10)
	}
	return number(math.Round(y))
}

func heading(s string) widget.RichTextSegment {
	return &widget.TextSegment{Text: s, Style: widget.RichTextStyle{SizeName: theme.SizeNameSubHeadingText, TextStyle: fyne.TextStyle{Bold: true}}}
}

func paragraph(format string, args ...any) widget.RichTextSegment {
	return &widget.TextSegment{Text: fmt.Sprintf(format, args...), Style: widget.RichTextStyle{SizeName: theme.SizeNameText}}
}

// plainCaption is a line or two below a drawing.
func plainCaption() *widget.Label {
	l := widget.NewLabel("")
	l.Wrapping, l.SizeName = fyne.TextWrapWord, theme.SizeNameCaptionText
	return l
}

// plainWords says what was measured, on which films, and what came of it.
func plainWords(s *session.Session, t study.Trend, err error) []widget.RichTextSegment {
	if err != nil {
		return []widget.RichTextSegment{paragraph("There is no measurement to show yet: %s.", study.Plain(err))}
	}
	first, last := t.Penetration[0], t.Penetration[len(t.Penetration)-1]
	films := fmt.Sprintf("On %d X-ray films, taken from %s to %s,", len(t.Penetration),
		first.Film.Date().Format("January 2006"), last.Film.Date().Format("January 2006"))
	if len(t.Penetration) == 1 {
		films = fmt.Sprintf("On one X-ray film, taken in %s,", first.Film.Date().Format("January 2006"))
	}
	out := []widget.RichTextSegment{heading("What was measured"),
		paragraph("An artificial hip has a ball that turns in a plastic lining. %s the outlines of ball and socket were marked and compared.%s",
			films, filmsAside(s))}
	out = append(out, movedWords(t, last)...)
	return append(out, settlingWords(t)...)
}

// filmsAside says which films wait for a clinician, and which do not count.
func filmsAside(s *session.Session) string {
	open, out, all := 0, 0, 0
	for _, f := range s.Films() {
		switch f.State() {
		case session.Proposed, session.Edited:
			open++
		case session.Excluded:
			out++
			continue
		}
		if f.Draft != nil {
			all++
		}
	}
	text := ""
	switch {
	case open == all && open > 1:
		text = " On all of them a clinician has still to check the marks."
	case open == 1 && all > 1:
		text = " On one of them a clinician has still to check the marks."
	case open == 1:
		text = " A clinician has still to check the marks."
	case open > 1:
		text = fmt.Sprintf(" On %d of them a clinician has still to check the marks.", open)
	}
	switch {
	case out == 1:
		text += " One more film was not used."
	case out > 1:
		text += fmt.Sprintf(" %d more films were not used.", out)
	}
	return text
}

// cardMM is the thickness of a bank card, mm (ISO/IEC 7810: 0.76 mm).
const cardMM = 0.76

func movedWords(t study.Trend, last study.Penetration) []widget.RichTextSegment {
	if len(t.Penetration) < 2 {
		return []widget.RichTextSegment{paragraph("One film shows where the ball is now. It takes a second one to see whether it has moved.")}
	}
	length, se := last.Magnitude()
	give := max(1.96*se, 0.01)
	out := []widget.RichTextSegment{heading("How far the ball has moved into the lining")}
	if length < give {
		return append(out, paragraph("Between the first film and the last one, no movement was found that the measurement can tell from none. It can tell about %s millimetres.", mm(give)))
	}
	places := 1
	if give < 0.05 {
		places = 2
	}
	return append(out, paragraph("%s millimetres (mm) from the first film to the last one, give or take %s mm. For comparison: a bank card is about %s mm thick.",
		signed(length, places), signed(give, places), signed(cardMM, 1)))
}

func settlingWords(t study.Trend) []widget.RichTextSegment {
	f := t.Fit
	if f == nil {
		return []widget.RichTextSegment{paragraph("There are too few films yet to tell a yearly pace.")}
	}
	out := []widget.RichTextSegment{heading("Settling, and wear since"), paragraph("A new lining first settles into its place. %s", settledWords(f))}
	return append(out, paragraph("%s", sinceWords(f)))
}

func settledWords(f *study.TrendFit) string {
	switch {
	case !f.HasBedding:
		return "The first film here is from after that time, so settling was not seen."
	case f.BeddingIn <= 0 || f.HasInterval && f.BeddingLo95 <= 0:
		return "In this hip it was too little for these films to show."
	}
	return fmt.Sprintf("In this hip that was about %s mm, mostly within the first %s.", mm(f.BeddingIn), yearWords(f.StartYears))
}

func sinceWords(f *study.TrendFit) string {
	if !f.HasInterval {
		return fmt.Sprintf("Since then: about %s mm a year. There are too few films to say how exact that is.", mm(f.Rate))
	}
	places := decimals(f.Hi95 - f.Lo95)
	between := fmt.Sprintf("between %s and %s mm a year", signed(f.Lo95, places), signed(f.Hi95, places))
	switch {
	case f.Hi95 <= 0:
		return "Since then the films show no movement further in."
	case signed(f.Lo95, places) == signed(f.Hi95, places):
		return fmt.Sprintf("Since then: about %s mm a year; the films agree on it closely.", mm(f.Rate))
	case f.Lo95 <= 0:
		return "Since then the movement is too small to be told from none: the true pace most likely lies " + strings.Replace(between, "between -", "between minus ", 1) + "."
	}
	return fmt.Sprintf("Since then: about %s mm a year. The true pace most likely lies %s.", mm(f.Rate), between)
}

// decimals keeps the ends of an interval apart.
func decimals(width float64) int {
	if width < 0.02 {
		return 3
	}
	return 2
}

func yearWords(y float64) string {
	if y == 1 {
		return "year"
	}
	return number(y) + " years"
}

// seenMM is the movement below which a drawing to scale hardly shows it.
const seenMM = 0.5

// drawingWords says what the drawing shows.
func drawingWords(t study.Trend, err error) string {
	if err != nil || len(t.Penetration) == 0 {
		return ""
	}
	text := "Drawn to scale, as seen from the front. Grey: the cup. Cream: the plastic lining. Blue-grey: the ball on the last film; dark ring: where it was on the first one; white: the room that it has left."
	if length, _ := t.Penetration[len(t.Penetration)-1].Magnitude(); len(t.Penetration) > 1 && length < seenMM {
		text += " The movement is so small that a drawing to scale hardly shows it."
	}
	return text
}

// courseWords says how to read the course.
func courseWords(t study.Trend, err error) string {
	switch {
	case err != nil || len(t.Penetration) == 0:
		return ""
	case t.Fit == nil || !t.Fit.HasInterval:
		return "Each dot is a film."
	}
	return "Each dot is a film. Green line: the pace; green band: where it most likely runs. Grey: the time of settling."
}

// plainLimits says what the measurement cannot say.
func plainLimits() []widget.RichTextSegment {
	return []widget.RichTextSegment{heading("What this cannot say"),
		paragraph("It does not say how the hip feels, whether the bone or the hold of the implant has changed, or what will happen. An X-ray film is flat: movement towards or away from the viewer is not seen. What it means for you, and when the next film is taken, is for you and your surgeon to talk about."),
		paragraph("A measuring aid for research and follow-up, not cleared for diagnosis. A clinician reviews every reading.")}
}
