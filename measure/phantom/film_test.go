package phantom

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// level interpolates the film at a place in pixel coordinates.
func level(img *image.Gray16, x, y float64) float64 {
	x, y = x-0.5, y-0.5
	i, j := int(math.Floor(x)), int(math.Floor(y))
	tx, ty := x-float64(i), y-float64(j)
	at := func(i, j int) float64 { return float64(img.Gray16At(i, j).Y) }
	return (at(i, j)*(1-tx)+at(i+1, j)*tx)*(1-ty) + (at(i, j+1)*(1-tx)+at(i+1, j+1)*tx)*ty
}

// crossings returns where radial profiles through the outline c, from one angle
// to another in degrees, pass the middle between inside and outside.
func crossings(img *image.Gray16, c measure.Circle, from, to float64) []measure.Point {
	var points []measure.Point
	for a := from; a <= to; a++ {
		sin, cos := math.Sincos(a * math.Pi / 180)
		at := func(d float64) float64 { return level(img, c.X+(c.R+d)*cos, c.Y+(c.R+d)*sin) }
		in, out := at(-4), at(4)
		for d := -4.0; d < 4; d += 0.02 {
			if (at(d)-in)/(out-in) > 0.5 {
				points = append(points, measure.Point{X: c.X + (c.R+d)*cos, Y: c.Y + (c.R+d)*sin})
				break
			}
		}
	}
	return points
}

// The outlines seen on a film without noise lie where the truth says, to a
// small part of a pixel; the radius may differ by the blur and the logarithm.
func TestFilmAgreesWithTruth(t *testing.T) {
	long(t)
	for _, c := range []struct {
		name     string
		cup      measure.CupKind
		from, to float64 // degrees of the outline clear of everything else
		outline  func(*view, Hip) []measure.Point
	}{
		{"head in a cemented cup", measure.Wire, -170, 90, func(v *view, h Hip) []measure.Point {
			return v.silhouette(h.headCenter(), h.HeadMM/2, vec{}, 0)
		}},
		{"shell", measure.Shell, -115, 25, func(v *view, h Hip) []measure.Point {
			return v.silhouette(h.cupCenter(), h.ShellMM/2, h.opening(), h.RimMM)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := Plain(measure.Right)
			s.Dose, s.Texture = -1, -1
			s.Hips[0].Cup = c.cup
			s.Hips[0].Superior, s.Hips[0].Medial = 0.6, 0.3
			s.Rotation, s.Tilt = 2, -3
			s = s.Around(measure.Right, 90)
			film, err := Render(s)
			require.NoError(t, err)
			// The silhouette is no circle off the central ray: the same part of
			// it must be compared.
			all := c.outline(newView(s), s.Hips[0])
			whole := nearestCircle(all)
			var part []measure.Point
			for _, p := range all {
				a := math.Atan2(p.Y-whole.Y, p.X-whole.X) * 180 / math.Pi
				if a >= c.from && a <= c.to {
					part = append(part, p)
				}
			}
			want := nearestCircle(part)
			points := crossings(film, whole, c.from, c.to)
			require.Greater(t, len(points), int(c.to-c.from)*9/10)
			got := nearestCircle(points)
			assert.InDelta(t, want.X, got.X, 0.15)
			assert.InDelta(t, want.Y, got.Y, 0.15)
			assert.InDelta(t, want.R, got.R, 0.6)
			t.Logf("centre off by %.3f, %.3f px, radius by %.3f px", got.X-want.X, got.Y-want.Y, got.R-want.R)
		})
	}
}
