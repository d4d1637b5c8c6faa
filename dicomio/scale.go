package dicomio

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// What a file may say of its scale. The source, the patient and the detector stand in
// this order (PS3.3 C.8.7.2, C.8.11.7), so that nothing is shown smaller than it is. The
// other limits are common practice, no source: they part what a hip is filmed with from
// other units and from numbers that fill a field.
const (
	// LeastSource and MostSource are a distance from source to detector, mm.
	LeastSource, MostSource = 500, 4000

	leastSpacing, mostSpacing = 0.01, 1 // mm of a pixel, the latter left out: 1\1 says nothing
	mostSide                  = 2000    // mm of the longest film, of whole legs
	mostMagnified             = 2       // times; a hip lies nearer to the detector than to the source
	leastMagnified            = 0.99    // 1, and what rounding of two spacings does
	// mostApart is how much two magnifications of one film may differ: what each of them
	// is meant for may lie 100 mm from the other, half a patient, of 1 m to the source.
	mostApart = 0.1
)

// decimals is what a decimal string may hold (PS3.5 table 6.2-1).
var decimals = regexp.MustCompile(`^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([Ee][+-]?[0-9]+)?$`)

// asDecimal reads a decimal string without its padding. A text of more than the 16 bytes of the
// standard is read too: its number is as plain.
func asDecimal(s string) (float64, error) {
	if !decimals.MatchString(s) {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(s, 64)
}

// claim is one of a file on its scale; drop leaves it out.
type claim struct {
	name  string
	value float64
	drop  func()
}

// weigh leaves out the statements of scale that cannot be true, and every two that
// contradict each other, since nothing tells which of them is right. Each is named.
func (f *Film) weigh() {
	f.weighSpacings()
	f.weighDistances()
	g := &f.Geometry
	if m := g.Magnification; m != 0 && !(m > 1 && m <= mostMagnified) {
		f.warn("scale.factor", "%s is %g, not over 1 and up to %g: not used",
			"Element", name(tag.EstimatedRadiographicMagnificationFactor), "Value", m, "Most", float64(mostMagnified))
		g.Magnification = 0
	}
	f.weighFactors()
}

// weighSpacings leaves out spacings that no film has. The shape of their pixels counts all
// the same.
func (f *Film) weighSpacings() {
	longest := float64(max(f.Rows, f.Columns))
	for _, s := range f.Geometry.spacings(f.Format) {
		p := *s.pair
		if !stated(p) || math.Max(p[0]/p[1], p[1]/p[0]) > mostOblong { // that is a fault of the film, see Square
			continue
		}
		low, high := min(p[0], p[1]), max(p[0], p[1])
		switch {
		case low < leastSpacing || high >= mostSpacing:
			f.warn("scale.spacing", "%s is %g x %g mm, not from %g to less than %g: not used",
				"Element", s.name, "Row", p[0], "Column", p[1], "Least", leastSpacing, "Most", float64(mostSpacing))
		case high*longest > mostSide:
			f.warn("scale.side", "%s would make the film %.4g mm long, more than %g: not used",
				"Element", s.name, "Side", high*longest, "Most", float64(mostSide))
		default:
			continue
		}
		if f.Geometry.shape == ([2]float64{}) {
			f.Geometry.shape = p
		}
		*s.pair = [2]float64{}
	}
	if !stated(f.Geometry.Pixel) {
		f.Geometry.PixelKind = ""
	}
}

// Unscanned returns the film without the resolution of its scan, and says so: it is then that of
// a picture's program or of another size of paper, and no scale of the film.
func (f *Film) Unscanned() *Film {
	g := f.withoutScan()
	n := f.ScanNote()
	g.warn("scale.resolution", "%s of %.0f dpi (%.3f mm per pixel) does not fit a head of that diameter, and without it one was found: it is taken for a program's default and not used",
		"Element", n["Element"], "DPI", n["DPI"], "MM", n["MM"])
	return g
}

// SetScanAside returns the film without the resolution of its scan, as was asked for, and
// says so; the film itself where its scale is none.
func (f *Film) SetScanAside() *Film {
	if _, kind := f.Geometry.Spacing(); kind != "scan" {
		return f
	}
	g := f.withoutScan()
	n := f.ScanNote()
	g.warn("scale.set-aside", "%s of %.0f dpi (%.3f mm per pixel) is set aside, as was asked for",
		"Element", n["Element"], "DPI", n["DPI"], "MM", n["MM"])
	return g
}

func (f *Film) withoutScan() *Film {
	g := *f
	g.Warnings = slices.Clone(g.Warnings)
	g.Geometry.Scan = [2]float64{}
	return &g
}

// ScanNote returns where the resolution of a scan stands, in dots to the inch and in mm per pixel.
func (f *Film) ScanNote() map[string]any {
	mm := f.Geometry.Scan[1]
	return map[string]any{"Element": f.Geometry.spacings(f.Format)[2].name, "DPI": millimetresInInch / mm, "MM": mm}
}

// weighDistances leaves out distances that no film is taken at.
func (f *Film) weighDistances() {
	g := &f.Geometry
	detector, patient := name(tag.DistanceSourceToDetector), name(tag.DistanceSourceToPatient)
	for _, s := range []claim{
		{detector, g.SourceImage, func() { g.SourceImage = 0 }},
		{patient, g.SourcePatient, func() { g.SourcePatient = 0 }},
	} {
		least := float64(LeastSource)
		if s.name == patient {
			least /= mostMagnified
		}
		if s.value != 0 && !(s.value >= least && s.value <= MostSource) {
			f.warn("scale.distance", "%s is %g mm, not from %g to %g: not used",
				"Element", s.name, "Value", s.value, "Least", least, "Most", float64(MostSource))
			s.drop()
		}
	}
	if g.SourceImage != 0 && g.SourcePatient > g.SourceImage {
		f.warn("scale.order", "%s is %g mm and %s is %g mm, behind the detector: neither is used",
			"Element", detector, "Value", g.SourceImage, "Other", patient, "OtherValue", g.SourcePatient)
		g.SourceImage, g.SourcePatient = 0, 0
	}
}

// factors are the magnifications that the film's statements come to.
func (g *Geometry) factors(format string) (out []claim) {
	if flat, ok := g.flat(format); ok && stated(g.Pixel) && g.Pixel != *flat.pair {
		out = append(out, claim{name(tag.PixelSpacing) + " against " + flat.name, flat.pair[1] / g.Pixel[1],
			func() { *flat.pair, g.Pixel, g.PixelKind = [2]float64{}, [2]float64{}, "" }})
	}
	if g.SourceImage > 0 && g.SourcePatient > 0 {
		out = append(out, claim{name(tag.DistanceSourceToDetector) + " over " + name(tag.DistanceSourceToPatient),
			g.SourceImage / g.SourcePatient, func() { g.SourceImage, g.SourcePatient = 0, 0 }})
	}
	if g.Magnification > 0 {
		out = append(out, claim{name(tag.EstimatedRadiographicMagnificationFactor), g.Magnification, func() { g.Magnification = 0 }})
	}
	return out
}

// weighFactors leaves out magnifications that cannot be, and those that differ.
func (f *Film) weighFactors() {
	for _, s := range f.Geometry.factors(f.Format) {
		if !(s.value >= leastMagnified && s.value <= mostMagnified) {
			f.warn("scale.magnified", "%s would magnify %.3g times, not 1 to %g: not used",
				"Element", s.name, "Value", s.value, "Most", float64(mostMagnified))
			s.drop()
		}
	}
	all := f.Geometry.factors(f.Format)
	for i, a := range all {
		for _, b := range all[i+1:] {
			if math.Abs(a.value/b.value-1) <= mostApart {
				continue
			}
			f.warn("scale.factors", "%s magnifies %.3g times, %s %.3g times: none of them is used",
				"Element", a.name, "Value", a.value, "Other", b.name, "OtherValue", b.value)
			a.drop()
			b.drop()
		}
	}
}

// Factor returns how many times the film shows the patient magnified by the file's own
// statements, without the spacing at the detector, and the name of the one that says so; 0
// and "" where none does.
func (f *Film) Factor() (times float64, by string) {
	if all := f.Geometry.factors(f.Format); len(all) > 0 {
		return all[len(all)-1].value, all[len(all)-1].name
	}
	return 0, ""
}

// long says of a decimal string that it has more bytes than the standard allows.
func (f *Film) long(t tag.Tag, s ...string) {
	for _, one := range s {
		if len(one) > 16 {
			f.warn("scale.long", "%s is %q, longer than a decimal string may be: read all the same",
				"Element", name(t), "Value", printable(strings.Join(s, `\`)))
			return
		}
	}
}
