package dicomio

import (
	"math"
	"strconv"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Field is what the collimator left open of a film, by the X-Ray Collimator module
// (PS3.3 C.8.7.3): a rectangle, or the square around a circle. Its edges are in px of
// Pixels from the film's left and upper edge; the field may reach beyond the film.
// The zero value is not stated.
type Field struct{ Left, Right, Upper, Lower float64 }

// Stated reports whether the file states a usable field.
func (d Field) Stated() bool { return d != Field{} }

// Center returns the middle of the field. The standard has no attribute for the
// place at which the central ray meets the film; where the collimator opens evenly to
// both sides of the ray, that is here (common practice, no source).
func (d Field) Center() (x, y float64) { return (d.Left + d.Right) / 2, (d.Upper + d.Lower) / 2 }

// upright returns the field on a film of w x h px that turn has brought upright.
func (d Field) upright(transpose, mirror, upset bool, w, h int) Field {
	if !d.Stated() {
		return d
	}
	if transpose {
		d = Field{d.Upper, d.Lower, d.Left, d.Right}
	}
	if mirror {
		d.Left, d.Right = float64(w)-d.Right, float64(w)-d.Left
	}
	if upset {
		d.Upper, d.Lower = float64(h)-d.Lower, float64(h)-d.Upper
	}
	return d
}

// The edges of a rectangle, left, right, upper, lower, in columns and rows from 1.
var fieldEdges = [4]tag.Tag{
	tag.CollimatorLeftVerticalEdge, tag.CollimatorRightVerticalEdge,
	tag.CollimatorUpperHorizontalEdge, tag.CollimatorLowerHorizontalEdge,
}

// field reads the collimator. What cannot be is left out with a warning.
func (h *header) field(f *Film) {
	d, err := h.collimator()
	if err == nil && d.Stated() {
		err = d.check(f.Columns, f.Rows)
	}
	if err != nil {
		f.warn("tag.collimator", "the collimator's tags are not used: %v", "Why", err)
		return
	}
	f.Field = d
}

// collimator reads a rectangle, else a circle.
func (h *header) collimator() (d Field, err error) {
	if v, ok, err := h.whole(fieldEdges[:]...); ok || err != nil {
		return Field{v[0] - 1, v[1], v[2] - 1, v[3]}, err
	}
	center, ok, err := h.pairOf(tag.CenterOfCircularCollimator)
	if !ok || err != nil {
		return d, err
	}
	r, ok, err := h.whole(tag.RadiusOfCircularCollimator)
	if !ok || err != nil {
		return d, err
	}
	y, x := center[0]-0.5, center[1]-0.5
	return Field{x - r[0], x + r[0], y - r[0], y + r[0]}, nil
}

// whole reads whole numbers; ok is false where any is not stated.
func (h *header) whole(tags ...tag.Tag) (v [4]float64, ok bool, err error) {
	for i, t := range tags {
		n, set, err := h.number(t)
		if err != nil {
			return v, false, refused("read.not-whole", "%s is %q, not a whole number", "Element", name(t), "Value", printable(h.str(t)))
		}
		if !set {
			return v, false, nil
		}
		v[i] = float64(n)
	}
	return v, true, nil
}

// pairOf reads two whole numbers, a row and a column.
func (h *header) pairOf(t tag.Tag) (v [2]float64, ok bool, err error) {
	s := h.strs(t)
	if len(s) == 0 || len(s) == 1 && s[0] == "" {
		return v, false, nil
	}
	bad := refused("tag.row-column", "%s is %q, not a row and a column", "Element", name(t), "Value", printable(strings.Join(s, "\\")))
	if len(s) != 2 {
		return v, false, bad
	}
	for i := range v {
		n, err := strconv.Atoi(s[i])
		if err != nil {
			return v, false, bad
		}
		v[i] = float64(n)
	}
	return v, true, nil
}

// check refuses a field that is none, or that no film of so many columns and rows
// can have: it must show a part of the field, and not less than a quarter.
func (d Field) check(columns, rows int) error {
	switch {
	case !(d.Left < d.Right && d.Upper < d.Lower):
		return refused("tag.no-opening", "columns %g to %g and rows %g to %g are no opening", "Left", d.Left+1, "Right", d.Right, "Upper", d.Upper+1, "Lower", d.Lower)
	case d.Right <= 0 || d.Lower <= 0 || d.Left >= float64(columns) || d.Upper >= float64(rows):
		return refused("tag.off-film", "columns %g to %g and rows %g to %g lie off the film of %d x %d", "Left", d.Left+1, "Right", d.Right, "Upper", d.Upper+1, "Lower", d.Lower, "Columns", columns, "Rows", rows)
	}
	w := math.Min(d.Right, float64(columns)) - math.Max(d.Left, 0)
	h := math.Min(d.Lower, float64(rows)) - math.Max(d.Upper, 0)
	if 4*w < d.Right-d.Left || 4*h < d.Lower-d.Upper {
		return refused("tag.beyond-film", "columns %g to %g and rows %g to %g reach too far beyond the film of %d x %d", "Left", d.Left+1, "Right", d.Right, "Upper", d.Upper+1, "Lower", d.Lower, "Columns", columns, "Rows", rows)
	}
	return nil
}
