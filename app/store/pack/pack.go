package pack

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"io"
	"math"
	"math/bits"
	"slices"

	"linerwatch/app/study"
)

// form is that of this package's files; a later one would have another number.
const form = 1

// The units of the columns.
const (
	pixel  = 1.0 / 1000
	degree = 1.0 / 10000
	ratio  = 1.0 / 100
)

// most is the largest number of units that a column holds: what is larger is not a
// place on a film.
const most = 1 << 50

// ErrMalformed is the error of bytes that Pack has not written.
var ErrMalformed = study.NewError("pack.malformed", nil)

// ErrRange is the error of a number that a column cannot hold: not finite, or far off
// any film.
var ErrRange = study.NewError("pack.range", nil)

// The columns of an edge, in order.
const (
	along = iota
	across
	residual
	angle
	strength
	deviation
	reason
	columns
)

// Pack writes the edge points of o, nil where it has none. The error is ErrRange.
func Pack(o study.Outline) ([]byte, error) {
	if len(o.Edges) == 0 && len(o.Points) == 0 && len(o.Residuals) == 0 {
		return nil, nil
	}
	w := writer{texts: []string{""}}
	for _, e := range o.Edges {
		w.edge(o.Circle, e)
	}
	explicit := !derived(o)
	if w.err == nil && explicit {
		w.list(o)
	}
	if w.err != nil {
		return nil, w.err
	}
	return deflated(w.bytes(len(o.Edges), explicit))
}

// derived reports whether the points and residuals of the fit are those of the kept
// edges.
func derived(o study.Outline) bool {
	points, residuals := kept(o.Edges)
	return slices.Equal(points, o.Points) && slices.Equal(residuals, o.Residuals)
}

func kept(edges []study.Edge) (points []study.Pixel, residuals []float64) {
	for _, e := range edges {
		if e.Reject == "" {
			points, residuals = append(points, e.Point), append(residuals, e.Residual)
		}
	}
	return points, residuals
}

// writer gathers columns.
type writer struct {
	texts  []string
	column [columns][]int64
	extra  []byte // points and residuals as they are
	err    error
}

func (w *writer) put(column int, v, unit float64) (written float64) {
	n := math.Round(v / unit)
	if !(math.Abs(n) < most) {
		w.err = ErrRange
		return 0
	}
	w.column[column] = append(w.column[column], int64(n))
	return n * unit
}

func (w *writer) edge(c study.Circle, e study.Edge) {
	turned := w.put(angle, e.Angle, degree)
	sin, cos := math.Sincos(turned * math.Pi / 180)
	dx, dy := e.X-c.X, e.Y-c.Y
	out := w.put(along, dx*cos+dy*sin-c.R, pixel)
	w.put(across, dy*cos-dx*sin, pixel)
	w.put(residual, e.Residual-out, pixel)
	w.put(strength, logarithm(e.Strength), ratio)
	w.put(deviation, logarithm(e.SD), ratio)
	i := slices.Index(w.texts, e.Reject)
	if i < 0 {
		i = len(w.texts)
		w.texts = append(w.texts, e.Reject)
	}
	w.column[reason] = append(w.column[reason], int64(i))
}

// logarithm is ln(v/1e-6) for all but the smallest values, and holds 0 and negative
// ones, too.
func logarithm(v float64) float64 { return math.Asinh(v / 2e-6) }

func exponential(v float64) float64 { return 2e-6 * math.Sinh(v) }

func (w *writer) list(o study.Outline) {
	w.extra = binary.AppendUvarint(w.extra, uint64(len(o.Points)))
	for _, p := range o.Points {
		w.float(p.X)
		w.float(p.Y)
	}
	w.extra = binary.AppendUvarint(w.extra, uint64(len(o.Residuals)))
	for _, r := range o.Residuals {
		w.float(r)
	}
}

func (w *writer) float(v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		w.err = ErrRange
	}
	w.extra = binary.LittleEndian.AppendUint64(w.extra, math.Float64bits(v))
}

func (w *writer) bytes(edges int, explicit bool) []byte {
	b := binary.AppendUvarint(nil, uint64(edges))
	b = binary.AppendUvarint(b, uint64(len(w.texts)))
	for _, t := range w.texts {
		b = binary.AppendUvarint(b, uint64(len(t)))
		b = append(b, t...)
	}
	for c, values := range w.column {
		b = appendPlanes(b, differences(values, orderOf(c)))
	}
	if explicit {
		return append(append(b, 1), w.extra...)
	}
	return append(b, 0)
}

// orderOf returns how often a column is subtracted from itself: angles grow evenly.
func orderOf(column int) int {
	if column == angle {
		return 2
	}
	return 1
}

func differences(v []int64, order int) []int64 {
	for range order {
		out, before := make([]int64, len(v)), int64(0)
		for i, x := range v {
			out[i], before = x-before, x
		}
		v = out
	}
	return v
}

// appendPlanes writes the lowest bytes of all values, then the next ones, and so on,
// after the number of bytes of the largest: each plane is of bytes alike.
func appendPlanes(b []byte, v []int64) []byte {
	var all uint64
	for _, x := range v {
		all |= zigzag(x)
	}
	planes := (bits.Len64(all) + 7) / 8
	b = append(b, byte(planes))
	for p := range planes {
		for _, x := range v {
			b = append(b, byte(zigzag(x)>>(8*p)))
		}
	}
	return b
}

// zigzag turns small values of either sign into small ones.
func zigzag(x int64) uint64 { return uint64(x<<1) ^ uint64(x>>63) }

func zagzig(x uint64) int64 { return int64(x>>1) ^ -int64(x&1) }

func deflated(b []byte) ([]byte, error) {
	out := bytes.NewBuffer([]byte{form})
	z, err := flate.NewWriter(out, flate.DefaultCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(b); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// largest is the most that a packed outline grows to, bytes: of 100,000 edges.
const largest = 8 << 20

func inflated(b []byte) ([]byte, error) {
	if b[0] != form {
		return nil, study.WrapError(ErrMalformed, "pack.form", study.Values{"Form": float64(b[0])})
	}
	out, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(b[1:])), largest+1))
	if err != nil {
		return nil, study.WrapError(ErrMalformed, "pack.deflated", study.Values{"Why": study.NoteOf(err)})
	}
	if len(out) > largest {
		return nil, ErrMalformed
	}
	return out, nil
}
