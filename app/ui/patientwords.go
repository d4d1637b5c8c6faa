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

// plainWords says what was measured, on which films, and what came of it; t is of
// accepted readings.
func plainWords(s *session.Session, t study.Trend, err error) []widget.RichTextSegment {
	if err != nil {
		return []widget.RichTextSegment{paragraph("There is no measurement to show yet: %s.%s", study.ToldPatient(err), filmsAside(s, ""))}
	}
	first, last := t.Penetration[0], t.Penetration[len(t.Penetration)-1]
	films := fmt.Sprintf("On %d X-ray films, taken from %s to %s,", len(t.Penetration), monthOf(first.Film), monthOf(last.Film))
	if len(t.Penetration) == 1 {
		films = fmt.Sprintf("On one X-ray film, taken in %s,", monthOf(first.Film))
	}
	var out []widget.RichTextSegment
	if !t.Doubt().IsZero() {
		out = append(out, paragraph("Not to be relied on yet: the size of the ball that was entered does not fit these films. "+
			"Every distance below rests on it and has to be checked first."))
	}
	out = append(out, heading("What was measured"),
		paragraph("An artificial hip has a ball that turns in a plastic lining. %s the outlines of ball and socket were marked and compared.%s",
			films, filmsAside(s, " more")))
	out = append(out, movedWords(t, last)...)
	return append(out, settlingWords(t)...)
}

func monthOf(f study.Film) string { return f.Date().Format("January 2006") }

// fromWords names the film that movement is counted from.
func fromWords(t study.Trend) string { return "the " + fromName(t) }

// fromName names the film that movement counts from, without an article.
func fromName(t study.Trend) string {
	if t.Baseline.ID == t.Penetration[0].Film.ID {
		return "first film"
	}
	return "film of " + monthOf(t.Baseline)
}

// filmsAside says which films are not in what is shown: those that wait for a
// clinician, and those that are left out. more is " more" where others are.
func filmsAside(s *session.Session, more string) string {
	open, out := 0, 0
	for _, f := range s.Strip().Films() {
		switch {
		case f.Excluded != nil:
			out++
		case f.Accepted == nil && f.Draft != nil:
			open++
		}
	}
	text := ""
	switch {
	case open == 1:
		text = fmt.Sprintf(" One%s film waits for a clinician to check its marks; it is not used here.", more)
	case open > 1:
		text = fmt.Sprintf(" %d%s films wait for a clinician to check their marks; they are not used here.", open, more)
	}
	switch {
	case out == 1:
		text += " One film was left out."
	case out > 1:
		text += fmt.Sprintf(" %d films were left out.", out)
	}
	return text
}

// cardMM is the thickness of a bank card, mm (ISO/IEC 7810: 0.76 mm).
const cardMM = 0.76

func movedWords(t study.Trend, last study.Penetration) []widget.RichTextSegment {
	if len(t.Penetration) < 2 {
		return []widget.RichTextSegment{paragraph("One film shows where the ball is now. It takes a second one to see whether it has moved.")}
	}
	out := []widget.RichTextSegment{heading("How far the ball has moved into the lining")}
	if last.Film.ID == t.Baseline.ID {
		return append(out, paragraph("Movement is counted from the last film here. It takes a later one to see it."))
	}
	length, se := last.Magnitude()
	give := max(1.96*se, 0.01)
	from := fromWords(t)
	if length < give {
		return append(out, paragraph("Between %s and the last one, no movement was found that the measurement can tell from none. It can tell about %s millimetres.", from, mm(give)))
	}
	places := 1
	if give < 0.095 { // which one decimal would make look larger than it is, or none
		places = 2
	}
	text := fmt.Sprintf("%s millimetres (mm) from %s to the last one, give or take %s mm.", signed(length, places), from, signed(give, places))
	if up := signed(last.Vector.Superior, places); up != signed(length, places) {
		text += fmt.Sprintf(" The part of it that goes up is %s mm; the curve shows that part.", strings.Replace(up, "-", "minus ", 1))
	}
	return append(out, paragraph("%s For comparison: a bank card is about %s mm thick.", text, signed(cardMM, 1)))
}

func settlingWords(t study.Trend) []widget.RichTextSegment {
	f := t.Fit
	if f == nil {
		return []widget.RichTextSegment{paragraph("There are too few films yet to tell a yearly pace.")}
	}
	out := []widget.RichTextSegment{heading("Settling, and wear since"), paragraph("A new lining first settles into its place. %s", settledWords(f, t.Settling()))}
	return append(out, paragraph("%s", sinceWords(f)))
}

// settledWords says how long settling took only where the films tell it.
func settledWords(f *study.TrendFit, s study.Settling) string {
	switch {
	case !f.HasBedding:
		return "Movement is counted from a film taken after that time, so settling was not seen."
	case f.BeddingIn <= 0 || f.HasInterval && f.BeddingLo95 <= 0:
		return "In this hip it was too little for these films to show."
	}
	text := fmt.Sprintf("In this hip that was about %s mm", mm(f.BeddingIn))
	switch {
	case s.Bounded(f):
		return text + fmt.Sprintf(", mostly within the first %s.", yearWords(f.StartYears))
	case s.Told:
		return text + fmt.Sprintf(" and may have gone on after the first %s; what came later is in the pace below.", yearWords(f.StartYears))
	}
	return text + fmt.Sprintf("; the films do not tell how long it took, and what came after the first %s is in the pace below.", yearWords(f.StartYears))
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
	return fmt.Sprintf("Since then: about %s mm a year. The true pace most likely lies %s.", signed(f.Rate, places), between)
}

// decimals keeps the ends of an interval apart.
func decimals(width float64) int {
	if width < 0.02 {
		return 3
	}
	return 2
}

// yearWords is a number of years after "within the first": "year" or "1.5 years".
func yearWords(y float64) string {
	if y == 1 {
		return "year"
	}
	return yearsWord(y)
}

// yearsWord writes "1 year" or "1.5 years".
func yearsWord(y float64) string {
	if y == 1 {
		return "1 year"
	}
	return number(y) + " years"
}

// seenMM is the movement below which a drawing to scale hardly shows it.
const seenMM = 0.5

// drawingWords says what the drawing shows.
func drawingWords(t study.Trend, err error) string {
	if err != nil {
		return ""
	}
	text := "Drawn to scale, as seen from the front. Grey: the cup."
	if t.Hip.Implant.LinerMM > 0 {
		text += " Cream: the plastic lining."
	} else {
		text += " The plastic lining lies within; how thick it was is not known here."
	}
	last := t.Penetration[len(t.Penetration)-1]
	if !moves(t) {
		return text + " Blue-grey: the ball."
	}
	text += fmt.Sprintf(" Blue-grey: the ball on the last film; dark ring: where it was on %s; white: the room that it has left.",
		strings.Replace(fromWords(t), "the first film", "the first one", 1))
	if length, _ := last.Magnitude(); length < seenMM {
		text += " The movement is so small that a drawing to scale hardly shows it."
	}
	return text
}

// moves reports whether a movement of the ball is drawn: between the film that it is
// counted from and a later one.
func moves(t study.Trend) bool {
	return t.Penetration[len(t.Penetration)-1].Film.ID != t.Baseline.ID
}

// courseWords says how to read the course: of what it draws, and no more.
func courseWords(t study.Trend, err error) string {
	if err != nil {
		return ""
	}
	text := "Each dot is a film."
	c := steadyCourse(t)
	switch {
	case c.up != nil:
		text += " Green line: the pace; green band: where it most likely runs."
	case c.line != nil:
		text += " Green line: the pace."
	}
	if settles(t) {
		text += " Grey: the time of settling."
	}
	if fromWords(t) != "the first film" {
		text += " Counted from " + fromWords(t) + "."
	}
	return text
}

// settles reports whether the films tell a time of settling, which is drawn then.
// From a film on that was taken later, settling was not seen.
func settles(t study.Trend) bool {
	return t.Fit != nil && t.Fit.HasBedding && t.Settling().Bounded(t.Fit)
}

// plainLimits says what the measurement cannot say.
func plainLimits() []widget.RichTextSegment {
	return []widget.RichTextSegment{heading("What this cannot say"),
		paragraph("It does not say how the hip feels, whether the bone or the hold of the implant has changed, or what will happen. An X-ray film is flat: movement towards or away from the viewer is not seen. What it means for you, and when the next film is taken, is for you and your surgeon to talk about."),
		paragraph("A measuring aid for research and follow-up, not cleared for diagnosis. A clinician reviews every reading.")}
}
