package chance

import (
	"fmt"
	"image"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
	"linerwatch/measure/phantom/station"
)

// Style is a clean step of processing that a film has or has not.
type Style string

// The styles; a tone curve is one as well, by its own name.
const (
	Unsharp    Style = "unsharp"
	Multiscale Style = "multiscale"
	Equalise   Style = "equalise"
	Stretch    Style = "stretch" // to shares of the pixels
	Gamma      Style = "gamma"
	ClipLow    Style = "clip-low"
	ClipHigh   Style = "clip-high"
	Scan       Style = "scan"
	Grid       Style = "grid"
	Shade      Style = "shade"
	Burned     Style = "text"
	JPEG       Style = "jpeg"
)

// Styles lists all styles.
func Styles() []Style {
	all := []Style{Unsharp, Multiscale, Equalise, Stretch, Gamma, ClipLow, ClipHigh, Scan, Grid, Shade, Burned, JPEG}
	for _, t := range station.Tones {
		all = append(all, Style(t))
	}
	return all
}

// Options narrow what is drawn. The zero value is everything, cropped.
type Options struct {
	Without []Style // that no film has
	Only    []Style // that every film has; of several tone curves each film has one
	Whole   int     // one hip in so many is on whole films; 0 for none

	plain bool
}

// Validate returns an error for a style that there is not, or that is both wanted
// and not.
func (o Options) Validate() error {
	all := Styles()
	for _, s := range slices.Concat(o.Without, o.Only) {
		if !slices.Contains(all, s) {
			return fmt.Errorf("chance: no style is called %q; there are %v", s, all)
		}
		if slices.Contains(o.Without, s) && slices.Contains(o.Only, s) {
			return fmt.Errorf("chance: style %q is both left out and wanted", s)
		}
	}
	if len(tones(o)) == 0 {
		return fmt.Errorf("chance: no tone curve is left")
	}
	return nil
}

// Hip is a hip with its films, the earliest first.
type Hip struct {
	Number int
	Plain  bool
	Whole  bool // on whole films
	Side   measure.Side
	HeadMM float64
	Cup    measure.CupKind
	Films  []Film
}

// Class names the kind of a hip.
func (h Hip) Class() string {
	class := "wide"
	if h.Plain {
		class = "plain"
	}
	return class + " " + string(h.Cup)
}

// Film is one film; the hip that is meant is the first of the scene's.
type Film struct {
	Scene   phantom.Scene
	Recipe  station.Recipe
	Factors []Factor
}

// Develop renders the film, bone bright, the pixels being the levels stored.
func (f Film) Develop() (*image.Gray16, error) {
	d, err := phantom.Expose(f.Scene)
	if err != nil {
		return nil, err
	}
	return f.Recipe.Develop(d)
}

// Draw draws the hip of a number. The options must be valid.
func Draw(seed uint64, number int, opt Options) Hip {
	d := &dice{seed: seed, number: number, opt: opt, salt: "hip"}
	h := Hip{Number: number, Plain: d.quiet("plain") < 0.25}
	d.opt.plain = h.Plain
	h.Whole = opt.Whole > 0 && d.quiet("whole") < 1/float64(opt.Whole)
	d.note("window", map[bool]string{true: "whole", false: "cropped"}[h.Whole])
	implant := drawHip(d)
	h.Side, h.HeadMM, h.Cup = implant.Side, implant.HeadMM, implant.Cup
	base := patient(d)
	m := drawMotion(d, implant)
	others := drawOther(d, implant)
	pieces := drawBall(d, implant)
	for i, part := range []float64{0, 0.4, 1} {
		moved := implant
		moved.Superior, moved.Medial, moved.Anterior = m.at(part)
		f := &dice{seed: seed, number: number, opt: d.opt, salt: fmt.Sprintf("film %d", i), factors: slices.Clone(d.factors)}
		s := expose(f, base)
		s.Hips = append([]phantom.Hip{moved}, others...)
		s.Pieces = pieces
		if !h.Whole {
			s = crop(f, s, implant.Side)
		}
		s = clutter(f, s)
		h.Films = append(h.Films, Film{Scene: s, Recipe: process(f, s), Factors: f.factors})
	}
	return h
}
