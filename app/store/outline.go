package store

import (
	"encoding/binary"
	"math"

	"linerwatch/app/study"
)

// Outlines are kept as a byte that names their form and 64-bit floating-point numbers,
// little-endian, in the order of these types: lists read ten thousand of them at once.
const numbersForm = 1

// outlineNumbers is an outline without its edges, and the circle of it corrected for the
// cone beam.
type outlineNumbers struct {
	Circle                      study.Circle
	Cov, Shared                 [3][3]float64
	Arc, RMS, Contrast, Clipped float64
	Ring                        study.Ellipse
	RingCov                     [5][5]float64
	Corrected                   study.Circle
}

// rimNumbers is the line along a cup's opening, without why there is none.
type rimNumbers struct {
	A, B  study.Pixel
	Found study.Ellipse
	Cov   [5][5]float64
	Seen  float64
}

var errNotFinite = study.NewError("store.not-finite", nil)

// numbersOf writes v, one of those types.
func numbersOf(v any) ([]byte, error) {
	b, err := binary.Append([]byte{numbersForm}, binary.LittleEndian, v)
	if err != nil {
		return nil, err
	}
	for i := 1; i < len(b); i += 8 {
		if v := math.Float64frombits(binary.LittleEndian.Uint64(b[i:])); math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, errNotFinite
		}
	}
	return b, nil
}

// intoNumbers reads what numbersOf wrote into v, a pointer to one of those types.
func intoNumbers(b []byte, v any) error {
	if len(b) == 0 || b[0] != numbersForm || len(b) != 1+binary.Size(v) {
		return wrapped(study.ErrDamaged, "store.other-form")
	}
	_, err := binary.Decode(b[1:], binary.LittleEndian, v)
	return err
}

func outlineBytes(o study.Outline, corrected study.Circle) ([]byte, error) {
	return numbersOf(outlineNumbers{
		o.Circle, o.Cov, o.Shared, o.Arc, o.RMS, o.Contrast, o.Clipped, o.Ring, o.RingCov, corrected})
}

func outlineOf(b []byte) (o study.Outline, corrected study.Circle, err error) {
	var n outlineNumbers
	err = intoNumbers(b, &n)
	o.Circle, o.Cov, o.Shared = n.Circle, n.Cov, n.Shared
	o.Arc, o.RMS, o.Contrast, o.Clipped = n.Arc, n.RMS, n.Contrast, n.Clipped
	o.Ring, o.RingCov = n.Ring, n.RingCov
	return o, n.Corrected, err
}

// rimBytes writes the line along a cup's opening; no bytes where there is none.
func rimBytes(r study.Rim) ([]byte, error) {
	n := rimNumbers{r.A, r.B, r.Found, r.Cov, r.Seen}
	if n == (rimNumbers{}) {
		return []byte{}, nil
	}
	return numbersOf(n)
}

func rimOf(b []byte, why study.Note) (study.Rim, error) {
	var n rimNumbers
	if len(b) > 0 {
		if err := intoNumbers(b, &n); err != nil {
			return study.Rim{}, err
		}
	}
	return study.Rim{A: n.A, B: n.B, Found: n.Found, Cov: n.Cov, Seen: n.Seen, Why: why}, nil
}
