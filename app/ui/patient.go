package ui

import (
	"fmt"
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/raster"
	"linerwatch/app/ui/widgets"
)

// patientView is what surgeon and patient look at together: plain words, a drawing
// to scale and the course. It gives no advice, no date and no risk.
type patientView struct {
	object fyne.CanvasObject
	w      *window
	title  *widget.Label
	words  *widget.RichText
	limits *widget.RichText
	pace   *widget.Label
	ask    *widget.Check
	far    *widget.Slider
	liner  *widgets.Chart
	chart  *widgets.Chart
	text   *raster.Type
}

func newPatientView(w *window) *patientView {
	p := &patientView{w: w, liner: widgets.NewChart(), chart: widgets.NewChart()}
	if t, err := raster.NewType(theme.DefaultTextFont().Content()); err == nil {
		p.text, t.Bare = t, true
	}
	p.title = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.title.SizeName = theme.SizeNameHeadingText
	p.words, p.limits = widget.NewRichText(), widget.NewRichText()
	p.words.Wrapping, p.limits.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	p.pace = widget.NewLabel("")
	p.pace.Wrapping = fyne.TextWrapWord
	p.far = widget.NewSlider(0.5, 5)
	p.far.Step, p.far.Value = 0.5, 1
	p.far.OnChanged = func(float64) { p.showPace() }
	p.ask = widget.NewCheck("Work out how long a distance takes at this pace", func(bool) { p.showPace() })
	p.liner.Draw, p.chart.Draw = p.drawLiner, p.drawCourse
	p.arrange()
	return p
}

func (p *patientView) arrange() {
	back := widget.NewButton("Back to the films (Esc)", func() { p.w.turn(readPage) })
	head := container.NewBorder(nil, nil, nil, container.NewVBox(back), p.title)
	left := container.NewVScroll(container.New(layout.NewCustomPaddedVBoxLayout(2), p.words, p.ask, p.far, p.pace, p.limits))
	right := container.NewGridWithRows(2, p.liner, p.chart)
	body := container.New(shares{0.44}, left, right)
	page := container.New(layout.NewCustomPaddedLayout(14, 14, 22, 22), container.NewBorder(head, nil, nil, nil, body))
	p.object = container.NewThemeOverride(container.NewStack(canvas.NewRectangle(widgets.Paper), page), paperTheme{filmTheme{Theme: theme.DefaultTheme(), light: true}})
}

// shares lays two objects side by side, the first with the given share of the width.
type shares struct{ first float32 }

// Layout implements fyne.Layout.
func (l shares) Layout(o []fyne.CanvasObject, size fyne.Size) {
	const gap = 18
	w := (size.Width - gap) * l.first
	o[0].Move(fyne.NewPos(0, 0))
	o[0].Resize(fyne.NewSize(w, size.Height))
	o[1].Move(fyne.NewPos(w+gap, 0))
	o[1].Resize(fyne.NewSize(size.Width-gap-w, size.Height))
}

// MinSize implements fyne.Layout.
func (l shares) MinSize(o []fyne.CanvasObject) fyne.Size {
	a, b := o[0].MinSize(), o[1].MinSize()
	return fyne.NewSize(a.Width+b.Width+18, max(a.Height, b.Height))
}

func (p *patientView) show() {
	h, _ := p.w.s.Hip()
	p.title.SetText(fmt.Sprintf("Your %s hip, operated on %s", h.Side, h.Surgery.Format("2 January 2006")))
	t, err := p.w.s.Trend()
	p.words.Segments = plainWords(p.w.s, t, err)
	p.words.Refresh()
	p.limits.Segments = plainLimits()
	p.limits.Refresh()
	enabled := err == nil && t.Fit != nil && t.Fit.HasInterval
	show(p.ask, enabled)
	if !enabled {
		p.ask.SetChecked(false)
	}
	p.showPace()
	p.liner.Redraw()
	p.chart.Redraw()
}

func (p *patientView) showPace() {
	show(p.far, p.ask.Checked)
	show(p.pace, p.ask.Checked)
	t, err := p.w.s.Trend()
	if !p.ask.Checked || err != nil || t.Fit == nil {
		return
	}
	p.pace.SetText(paceWords(p.far.Value, t.Fit.Lo95, t.Fit.Hi95))
}

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

// plainWords says what was measured, on which films, and what came of it.
func plainWords(s *session.Session, t study.Trend, err error) []widget.RichTextSegment {
	if err != nil {
		return []widget.RichTextSegment{paragraph("There is no measurement to show yet: %s.", session.Plain(err))}
	}
	first, last := t.Penetration[0], t.Penetration[len(t.Penetration)-1]
	open := 0
	for _, f := range s.Films() {
		if f.State() == session.Proposed || f.State() == session.Edited {
			open++
		}
	}
	out := []widget.RichTextSegment{heading("What was measured"),
		paragraph("An artificial hip has a ball that turns in a plastic lining. On %d X-ray films, taken from %s to %s, the outlines of ball and socket were marked and compared.",
			len(t.Penetration), first.Film.Date.Format("January 2006"), last.Film.Date.Format("January 2006"))}
	if open > 0 {
		out = append(out, paragraph("%d of these films still wait for a clinician to check the marks.", open))
	}
	out = append(out, movedWords(t, last)...)
	return append(out, settlingWords(t)...)
}

func movedWords(t study.Trend, last study.Penetration) []widget.RichTextSegment {
	if len(t.Penetration) < 2 {
		return []widget.RichTextSegment{paragraph("One film shows where the ball is now. It takes a second one to see whether it has moved.")}
	}
	length, se := last.Magnitude()
	give := 1.96 * se
	out := []widget.RichTextSegment{heading("How far the ball has moved into the lining")}
	if length < give {
		return append(out, paragraph("Between the first film and the last one, no movement was found that the measurement can tell from none. It can tell about %s mm.", mm(give)))
	}
	return append(out, paragraph("%s mm from the first film to the last one, give or take %s mm. The drawing shows it at its true proportion.", signed(length, 1), mm(max(give, 0.01))))
}

func settlingWords(t study.Trend) []widget.RichTextSegment {
	f := t.Fit
	if f == nil {
		return []widget.RichTextSegment{paragraph("There are too few films yet to tell a yearly pace.")}
	}
	out := []widget.RichTextSegment{heading("Settling, and wear since")}
	if f.HasBedding {
		out = append(out, paragraph("A new lining first settles into its place. In this hip that was about %s mm, mostly within the first %s.",
			mm(f.BeddingIn), yearWords(f.StartYears)))
	} else {
		out = append(out, paragraph("A new lining first settles into its place. The first film here is from after that time, so settling was not seen."))
	}
	if !f.HasInterval {
		return append(out, paragraph("Since then: about %s mm a year. There are too few films to say how exact that is.", mm(f.Rate)))
	}
	return append(out, paragraph("Since then: about %s mm a year. The true pace most likely lies between %s and %s mm a year.",
		mm(f.Rate), signed(f.Lo95, decimals(f.Hi95-f.Lo95)), signed(f.Hi95, decimals(f.Hi95-f.Lo95))))
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

// plainLimits says what the measurement cannot say.
func plainLimits() []widget.RichTextSegment {
	return []widget.RichTextSegment{heading("What this cannot say"),
		paragraph("It does not say how the hip feels, whether bone or fixation have changed, or what will happen. An X-ray film is flat: movement towards or away from the viewer is not seen. What it means for you is a matter for you and your surgeon."),
		paragraph("A measuring aid for research and follow-up, not cleared for diagnosis. A clinician reviews every reading.")}
}

func (p *patientView) drawLiner(w, h int, scale float64) image.Image {
	l := raster.Liner{Width: w, Height: h, Scale: scale, Ground: widgets.Paper, Ink: widgets.Ink, Cup: widgets.Metal,
		PE: widgets.Plastic, Head: widgets.Ball, Then: widgets.Ink, Moved: widgets.Plum}
	t, err := p.w.s.Trend()
	if err != nil || len(t.Penetration) == 0 {
		return l.Draw(p.text)
	}
	hip, _ := p.w.s.Hip()
	last := t.Penetration[len(t.Penetration)-1]
	l.Labels = [3]string{"first film", "last film", "10 mm"}
	l.HeadR, l.LinerMM = hip.Implant.HeadMM/2, hip.Implant.LinerMM
	l.DX, l.DY = last.Medial*hip.Side.Medial(), -last.Vector.Superior
	for _, m := range t.Films {
		if m.Film.ID == t.Baseline.ID {
			l.CupR = m.Cup.R * m.Reading.Scale
			l.CupX, l.CupY = -m.Reading.Offset.Medial*hip.Side.Medial(), m.Reading.Offset.Superior
		}
	}
	return l.Draw(p.text)
}

func (p *patientView) drawCourse(w, h int, scale float64) image.Image {
	t, err := p.w.s.Trend()
	if err != nil || len(t.Penetration) == 0 {
		return raster.Liner{Width: w, Height: h, Ground: widgets.Paper}.Draw(nil)
	}
	return drawPlain(t, w, h, scale)
}

// paperTheme is the look of the patient's view: dark on light.
type paperTheme struct{ fyne.Theme }
