package figure

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"linerwatch/app/findings"
	"linerwatch/app/report/paper"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// Format is a kind of file.
type Format string

// The formats.
const (
	SVG Format = "svg"
	PDF Format = "pdf"
	PNG Format = "png"
)

// Formats lists them.
func Formats() []Format { return []Format{SVG, PDF, PNG} }

// Column is how wide a figure is: one column of a journal, or the page's two.
type Column string

// The columns.
const (
	Single Column = "single"
	Double Column = "double"
)

// Input is what figures are drawn of: a study, or hips of it.
type Input struct {
	Findings findings.Findings // in Speech, as by its Options
	Trends   []study.Trend     // the hip of a figure of one; each has a plot of its own
	Speech   texts.Speech      // the language of the figure; the zero value that of the program
}

// Figure is a figure that can be written.
type Figure struct {
	Name, Title string
	Caption     string // what is shown, and what is to be known of it
	sheet       *sheet
}

// kind is a figure that the program can draw. draw begins at the top, draws in the width of
// the sheet, and returns how far down it came.
type kind struct {
	name           string
	title, caption string // keys of their words
	// ofHip: it is of one hip; model: of the mixed model; checks: of its residuals.
	ofHip, model, checks bool
	draw                 func(s *sheet, in Input) (bottom float64, more []string, err error)
}

// kinds are the figures in the order of the help.
func kinds() []kind {
	return []kind{
		{name: "trend", title: "figure.trend", caption: "figure.trend.caption", ofHip: true, draw: drawTrend},
		{name: "flow", title: "figure.flow", caption: "figure.flow.caption", draw: drawFlow},
		{name: "hips", title: "figure.hips", caption: "figure.hips.caption", draw: drawHips},
		{name: "agreement", title: "figure.agreement", caption: "figure.agreement.caption", draw: drawAgreement},
		{name: "survival", title: "figure.survival", caption: "figure.survival.caption", draw: drawSurvival},
		{name: "rates", title: "figure.rates", caption: "figure.rates.caption", model: true, draw: drawRates},
		{name: "residuals", title: "figure.residuals", caption: "figure.residuals.caption", checks: true, draw: drawResiduals},
	}
}

// Names lists the figures.
func Names() []string {
	var out []string
	for _, k := range kinds() {
		out = append(out, k.name)
	}
	return out
}

func kindOf(name string) (kind, bool) {
	i := slices.IndexFunc(kinds(), func(k kind) bool { return k.name == name })
	if i < 0 {
		return kind{}, false
	}
	return kinds()[i], true
}

// OfHip reports whether a figure is of one hip.
func OfHip(name string) bool { k, _ := kindOf(name); return k.ofHip }

// NeedsModel reports whether a figure needs findings with Model.
func NeedsModel(name string) bool { k, _ := kindOf(name); return k.model }

// NeedsChecks reports whether a figure needs findings with Checks.
func NeedsChecks(name string) bool { k, _ := kindOf(name); return k.checks }

// NoneError says why there is nothing to draw.
type NoneError struct{ Why study.Note }

func (e *NoneError) Error() string { return "figure: " + study.NoteWords(e.Why) }

// Says tells why.
func (e *NoneError) Says() study.Note { return e.Why }

// Draw draws a figure as wide as a column. Where there is nothing to draw the error is a
// *NoneError.
func Draw(name string, in Input, column Column) (Figure, error) {
	k, ok := kindOf(name)
	if !ok {
		return Figure{}, fmt.Errorf("figure: no figure %q", name)
	}
	f, err := faces()
	if err != nil {
		return Figure{}, err
	}
	s := &sheet{w: style.Single*mm - 2*style.Margin, faces: f, voice: paper.Voice{Speech: in.Speech}}
	if column == Double {
		s.w = style.Double*mm - 2*style.Margin
	}
	bottom, more, err := k.draw(s, in)
	if err != nil {
		return Figure{}, err
	}
	s.indent(style.Margin)
	s.w, s.h = s.w+2*style.Margin, bottom+2*style.Margin
	s.items = slices.Insert(s.items, 0, item{path: polygon(Point{}, Point{s.w, 0}, Point{s.w, s.h}, Point{0, s.h}), ink: Ink{255, 255, 255}})
	out := Figure{Name: name, Title: s.say(k.title), Caption: s.say(k.caption), sheet: s}
	for _, m := range more {
		out.Caption += " " + m
	}
	return out, nil
}

// Size returns the width and height, mm.
func (f Figure) Size() (w, h float64) { return f.sheet.w / mm, f.sheet.h / mm }

// The resolutions of a PNG that journals ask for.
const (
	LowDPI  = 300
	HighDPI = 600
)

// Write writes the figure; dpi is of a PNG, date of a PDF.
func (f Figure) Write(w io.Writer, format Format, dpi int, date time.Time) error {
	switch format {
	case SVG:
		return f.svg(w)
	case PDF:
		return f.pdf(w, date)
	case PNG:
		return f.png(w, dpi)
	}
	return errors.New("figure: it is written as svg, pdf or png")
}
