package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"linerwatch/app/study"
)

// numbers is an outline without its edges, in the order in which a study file keeps it,
// after a byte that names this form: 64-bit floating-point numbers, little-endian.
type numbers struct {
	Circle                      study.Circle
	Cov, Shared                 [3][3]float64
	Arc, RMS, Contrast, Clipped float64
	Ring                        study.Ellipse
	RingCov                     [5][5]float64
}

const outlineForm = 1

var errNotFinite = errors.New("an outline is not of finite numbers")

func outlineBytes(o study.Outline) ([]byte, error) {
	b, err := binary.Append([]byte{outlineForm}, binary.LittleEndian, numbers{
		o.Circle, o.Cov, o.Shared, o.Arc, o.RMS, o.Contrast, o.Clipped, o.Ring, o.RingCov})
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

func outlineOf(b []byte) (o study.Outline, err error) {
	var n numbers
	if len(b) == 0 || b[0] != outlineForm || len(b) != 1+binary.Size(n) {
		return o, fmt.Errorf("an outline of another form: %w", ErrDamaged)
	}
	if _, err = binary.Decode(b[1:], binary.LittleEndian, &n); err != nil {
		return o, err
	}
	o.Circle, o.Cov, o.Shared = n.Circle, n.Cov, n.Shared
	o.Arc, o.RMS, o.Contrast, o.Clipped = n.Arc, n.RMS, n.Contrast, n.Clipped
	o.Ring, o.RingCov = n.Ring, n.RingCov
	return o, nil
}
