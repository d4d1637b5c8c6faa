package ui

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// agreementPage shows how far the readers of the study agree: a plot of one pair, and the
// numbers of all.
type agreementPage struct {
	basis
	title   *canvas.Text
	chart   *widgets.Chart
	pair    *passingSelect
	part    *passingSelect
	numbers *widgets.Figures
	said    *widget.Label
	none    *widget.Label
	got     study.StudyAgreement
	asked   int // counts what was asked for, so that late results can be dropped
	shown   int // the last of those that came
	filling bool
	// what the readings themselves give to say
	reported string
}

func agreementKind() pageKind {
	return pageKind{word: say("page.agreement.name"), does: say("page.agreement.does"), turns: named("F8", nil, fyne.KeyF8),
		fill: func(w *window) page { return newAgreementPage(w) }}
}

func newAgreementPage(w *window) *agreementPage {
	p := &agreementPage{basis: basis{w: w}, title: pageTitle(), chart: widgets.NewChart(), numbers: widgets.NewFigures(), said: note(""), none: emptyNote()}
	p.title.Text = say("page.agreement.title")
	p.chart.Draw = p.draw
	w.offersPicture(p.chart, "-agreement")
	p.pair = newSelect(w, nil, func(string) { p.choose() })
	p.part = newSelect(w, []string{say("page.agreement.superior"), say("page.agreement.medial")}, func(string) { p.ask() })
	p.filling = true
	p.part.SetSelectedIndex(0)
	p.filling = false
	side := panel(sideWidth+150, bold(say("page.agreement.head-from-cup")), p.part, bold(say("page.agreement.shown")), p.pair, inset(p.numbers), p.said)
	p.object = onGround(container.NewBorder(pageHead(p.title), nil, nil, w.handingOut(side, p.chart, "-agreement"),
		container.New(layout.NewCustomPaddedLayout(6, 10, 14, 10), container.NewStack(p.chart, midway(p.none)))))
	return p
}

// ready implements page.
func (p *agreementPage) ready() bool { return p.w.s.Book().Path() != "" }

// hears implements page.
func (p *agreementPage) hears() session.Change { return session.StudyChanged | session.HipChanged }

// heard implements page.
func (p *agreementPage) heard(session.Change) { p.ask() }

// ask has the agreement computed for the part that is chosen.
func (p *agreementPage) ask() {
	if p.filling {
		return
	}
	p.asked++
	turn := p.asked
	p.w.s.Book().Agreement(p.part.SelectedIndex() == 1, func(a study.StudyAgreement, err error) {
		if turn == p.asked {
			p.shown = turn
			p.show(a, err)
		}
	})
}

// show shows what was computed.
func (p *agreementPage) show(a study.StudyAgreement, err error) {
	p.got = a
	text := study.Told(err)
	p.none.SetText(text)
	show(p.none, text != "")
	show(p.chart, text == "")
	var words []string
	for _, pair := range a.Pairs {
		words = append(words, pair.Of+", "+pair.Kind.Words())
	}
	was := p.pair.Selected
	p.filling = true
	p.pair.SetOptions(words)
	selectOr(p.pair, was, "")
	if p.pair.SelectedIndex() < 0 && len(words) > 0 {
		p.pair.SetSelectedIndex(0)
	}
	p.filling = false
	p.reported = ""
	if err == nil {
		for _, n := range a.Reported() {
			p.reported += study.NoteWords(n) + "\n"
		}
	}
	p.choose()
}

// choose shows the pair that is chosen.
func (p *agreementPage) choose() {
	rows, why := p.figures()
	p.numbers.Set(rows)
	p.said.SetText(p.reported + why)
	p.chart.Redraw()
}

// chosen is the pair that is shown.
func (p *agreementPage) chosen() (pair study.AgreePair, ok bool) {
	i := p.pair.SelectedIndex()
	if i < 0 || i >= len(p.got.Pairs) {
		return pair, false
	}
	return p.got.Pairs[i], true
}

// figures are the numbers of the pair that is chosen, and those of all readers; why says of
// those that there are not why, a line each.
func (p *agreementPage) figures() (rows []widgets.Figure, why string) {
	pair, ok := p.chosen()
	if !ok {
		return nil, ""
	}
	model := map[study.PairKind]string{study.WithinReader: study.RepeatedReadings, study.DoubleExamining: study.DoubleExaminations}[pair.Kind]
	last := ""
	for _, q := range p.got.Quantities {
		own := q.Of == pair.Of && (pair.Kind == study.BetweenReaders || q.Model == model)
		if !own && q.Of != "" {
			continue
		}
		if q.Model != last {
			last = q.Model
			rows = append(rows, widgets.Figure{Name: q.Model, Head: true})
		}
		rows = append(rows, quantityFigure(q))
		if !q.Exists() && !q.Note.IsZero() {
			why += q.Name + ": " + study.NoteWords(q.Note) + "\n"
		}
	}
	return rows, why
}

// quantityFigure is the line of a quantity, with its interval.
func quantityFigure(q study.Quantity) widgets.Figure {
	if !q.Exists() || math.IsNaN(q.Value) {
		return widgets.Figure{Name: q.Name, Value: "–"}
	}
	f := widgets.Figure{Name: q.Name, Value: signed(q.Value, 3), Unit: q.Unit}
	if q.Counts() {
		f.Value = signed(q.Value, 0)
	}
	if q.HasInterval {
		f.Extra = say("page.agreement.interval", "Lo", signed(q.Interval.Lo, 3), "Hi", signed(q.Interval.Hi, 3))
	}
	return f
}

func (p *agreementPage) draw(w, h int, scale float64) image.Image {
	if pair, ok := p.chosen(); ok {
		return drawAgreement(p.got, pair, w, h, scale)
	}
	return image.NewRGBA(image.Rect(0, 0, w, h))
}
