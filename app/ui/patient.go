package ui

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report/patient"
	"linerwatch/app/session"
	"linerwatch/app/ui/raster"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
)

// patientView is what surgeon and patient look at together: plain words, a drawing
// to scale and the course. It gives no advice, no date and no risk.
type patientView struct {
	basis
	page     patient.Page
	language string // its code
	title    *widget.Label
	words    *widget.RichText
	limits   *widget.RichText
	pace     *widget.Label
	under    *widget.Label // the drawing
	below    *widget.Label // the course
	ask      *passingCheck
	far      *passingSlider
	slide    fyne.CanvasObject // far in its groove
	liner    *widgets.Chart
	chart    *widgets.Chart
	text     *raster.Type
	look     *container.ThemeOverride
	room     *canvas.Rectangle // for the longest name of a language
	grown    float32           // how much larger the letters are than on a small window
}

func patientKind() pageKind {
	return pageKind{
		word: say("page.patient.name"), does: say("page.patient.does"), turns: letter('V', nil), faces: true,
		fill: func(w *window) page { return newPatientView(w) },
	}
}

func newPatientView(w *window) *patientView {
	p := &patientView{basis: basis{w: w}, grown: 1, language: pageLanguage(w.s), liner: widgets.NewChart(), chart: widgets.NewChart()}
	if t, err := raster.NewType(theme.DefaultTextFont().Content()); err == nil {
		p.text, t.Bare = t, true
	}
	p.title = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})
	p.title.SizeName = theme.SizeNameHeadingText
	p.words, p.limits = widget.NewRichText(), widget.NewRichText()
	p.words.Wrapping, p.limits.Wrapping = fyne.TextWrapWord, fyne.TextWrapWord
	p.under, p.below = plainCaption(), plainCaption()
	p.pace = widget.NewLabel("")
	p.pace.Wrapping = fyne.TextWrapWord
	p.far = newSlider(w, 0.5, 5, 0.5)
	p.far.Value = 1
	p.slide = grooved(p.far, onPaper(1), widgets.Rule)
	p.far.OnChanged = func(float64) { p.showPace() }
	p.ask = newCheck(w, "", func(bool) { p.showPace() })
	p.liner.Draw, p.chart.Draw = p.drawLiner, p.drawCourse
	w.offersPicture(p.liner, "-drawing")
	w.offersPicture(p.chart, "-course")
	p.room = canvas.NewRectangle(color.Transparent)
	p.arrange()
	p.widen()
	return p
}

func (p *patientView) arrange() {
	back := widget.NewButton(say("page.patient.back"), p.w.toFilms)
	out := widget.NewButton(say("page.patient.print"), p.w.print)
	speech := newSelect(p.w, languages(), nil)
	speech.SetSelected(languageName(p.language))
	speech.OnChanged = func(string) {
		p.language = texts.Codes()[max(0, speech.SelectedIndex())]
		p.show()
	}
	wide := container.NewStack(p.room, speech)
	head := container.NewBorder(nil, nil, nil, container.NewVBox(container.NewHBox(wide, out, back)), p.title)
	left := container.NewVScroll(container.New(layout.NewCustomPaddedLayout(0, 0, 0, 12), // beside the scroll bar
		container.New(layout.NewCustomPaddedVBoxLayout(2), p.words, p.ask, p.slide, p.pace, p.limits)))
	right := container.NewGridWithRows(2, container.NewBorder(nil, p.under, nil, nil, p.liner), container.NewBorder(nil, p.below, nil, nil, p.chart))
	body := container.New(shares{0.44}, left, right)
	page := container.New(layout.NewCustomPaddedLayout(14, 14, 22, 22), container.NewBorder(head, nil, nil, nil, body))
	p.look = container.NewThemeOverride(container.NewStack(canvas.NewRectangle(widgets.Paper), page), onPaper(p.grown))
	p.object = container.New(growing{p}, p.look)
}

// growing fills its place with the page, in letters as large as that allows.
type growing struct{ p *patientView }

// Layout implements fyne.Layout.
func (g growing) Layout(o []fyne.CanvasObject, size fyne.Size) {
	o[0].Resize(size)
	g.p.grow(size)
}

// MinSize implements fyne.Layout. It is that of the page in its smallest letters, so that a
// large window can be made small again.
func (g growing) MinSize(o []fyne.CanvasObject) fyne.Size {
	min := o[0].MinSize()
	return fyne.NewSize(min.Width/g.p.grown, min.Height/g.p.grown)
}

// The window on which the letters have the sizes of paperTheme, and how much larger they get.
const (
	plainWidth, plainHeight = 1280, 720
	mostGrown               = 2
)

// grow makes the letters as large as a page of a size allows, in steps of a tenth.
func (p *patientView) grow(size fyne.Size) {
	by := min(size.Width/plainWidth, size.Height/plainHeight, mostGrown)
	if by = max(1, float32(math.Floor(float64(by)*10))/10); by == p.grown {
		return
	}
	p.grown, p.look.Theme = by, onPaper(by)
	p.widen()
	p.look.Refresh()
	p.show() // lines break elsewhere
}

// widen gives the choice of languages room for letters as large as they are.
func (p *patientView) widen() { p.room.SetMinSize(fyne.NewSize(140*p.grown, 0)) }

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

func (p *patientView) heard(session.Change) { p.show() }

// front shows the page alone. Arithmetic about the future is only by choice, each
// time.
func (p *patientView) front(on bool) {
	if on {
		p.ask.SetChecked(false)
	}
	p.w.alone(on)
}

func (p *patientView) show() {
	p.page = patientPage(p.w.s, p.language)
	p.title.SetText(p.page.Title)
	tell(p.words, segments(p.page.First, p.page.Told...))
	tell(p.limits, segments(nil, p.page.Limits))
	p.under.SetText(p.page.UnderDrawing(patient.InColour))
	p.below.SetText(p.page.UnderCourse(patient.InColour))
	p.ask.SetText(p.page.AskPace())
	show(p.ask, p.page.HasPace())
	if !p.page.HasPace() {
		p.ask.SetChecked(false)
	}
	p.showPace()
	p.liner.Redraw()
	p.chart.Redraw()
}

// tell sets a text. The toolkit breaks the lines of segments that are new to it before it knows
// the size of their letters, which is that of the text's own look: it has to do so again.
func tell(t *widget.RichText, segments []widget.RichTextSegment) {
	t.Segments = segments
	t.Refresh()
	t.Refresh()
}

func (p *patientView) showPace() {
	show(p.slide, p.ask.Checked)
	show(p.pace, p.ask.Checked)
	p.pace.SetText(p.page.Pace(p.far.Value))
}

// asked is the distance for which a time is reckoned on the page, mm; 0 for none.
func (p *patientView) asked() float64 {
	if !p.ask.Checked {
		return 0
	}
	return p.far.Value
}

func (p *patientView) drawLiner(w, h int, scale float64) image.Image {
	l := raster.Liner{Width: w, Height: h, Scale: scale * float64(p.grown), Ground: widgets.Paper, Ink: widgets.Ink, Cup: widgets.Metal,
		PE: widgets.Plastic, Head: widgets.Ball, Then: widgets.Ink, Moved: widgets.Plum}
	d, ok := p.page.Drawing()
	if !ok {
		return l.Draw(p.text)
	}
	l.Labels[2] = d.Bar
	if d.Moves {
		l.Labels = [3]string{d.First, d.Last, d.Bar}
	}
	l.LinerMM, l.DX, l.DY = d.LinerMM, d.DX, d.DY
	l.HeadR, l.CupR, l.CupX, l.CupY = d.HeadR, d.CupR, d.CupX, d.CupY
	return l.Draw(p.text)
}

func (p *patientView) drawCourse(w, h int, scale float64) image.Image {
	t, err := p.w.s.Course().Accepted()
	if err != nil {
		return raster.Liner{Width: w, Height: h, Ground: widgets.Paper}.Draw(nil)
	}
	return drawPlain(t, p.page, w, h, scale*float64(p.grown))
}

// paperTheme is the look of the patient's view: dark on light.
type paperTheme struct {
	fyne.Theme
	grown float32 // how many times as large its letters are
}

func onPaper(grown float32) paperTheme {
	return paperTheme{filmTheme{Theme: theme.DefaultTheme(), light: true}, grown}
}
