package phantom

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// square is a scene with square millimetres for pixels, the central ray in its
// middle, and the hips on the central ray's level.
func square(depth, detector float64) Scene {
	s := Default()
	s.Spacing, s.SourceHip, s.SourceImage, s.ShiftY = 0.1, depth, detector, -restCaudal
	return s
}

// halves returns half of the extent of points along x and y.
func halves(points []measure.Point) (x, y float64) {
	lo, hi := points[0], points[0]
	for _, p := range points {
		lo.X, hi.X = min(lo.X, p.X), max(hi.X, p.X)
		lo.Y, hi.Y = min(lo.Y, p.Y), max(hi.Y, p.Y)
	}
	return (hi.X - lo.X) / 2, (hi.Y - lo.Y) / 2
}

// Expected values are computed, independent of this package, from the cone that
// touches a sphere: the table sphere_shadow_cone_beam of the reference data.
func TestSilhouetteOfSphere(t *testing.T) {
	for _, c := range []struct {
		name                        string
		r, offset, depth, detector  float64
		long, short, center, shadow float64
	}{
		{"on axis", 14, 0, 1000, 1150, 16.10157803197449, 16.10157803197449, 0, 0},
		{"hip of 22 mm", 11, 100, 1000, 1150, 12.713869489279055, 12.650765394460253, 115, 115.01391668391875},
		{"short distance", 11, 100, 850, 1000, 13.03153318704755, 12.942260262327954, 117.6470588235294, 117.66676495302326},
		{"far out", 11, 150, 950, 1100, 12.895519712971875, 12.737696018216994, 173.68421052631578, 173.70749984208408},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := square(c.depth, c.detector)
			v := newView(s)
			at := vec{c.offset, 0, 0}
			long, short := halves(v.silhouette(at, c.r, vec{}, 0))
			assert.InDelta(t, c.long, long*s.Spacing, 2e-4)
			assert.InDelta(t, c.short, short*s.Spacing, 2e-4)
			p := v.project(at)
			assert.InDelta(t, c.center, (p.X-v.beamX)*s.Spacing, 1e-9)
			circle := nearestCircle(v.silhouette(at, c.r, vec{}, 0))
			assert.InDelta(t, c.shadow, (circle.X-v.beamX)*s.Spacing, 2e-4)
			assert.InDelta(t, (c.long+c.short)/2, circle.R*s.Spacing, 2e-3)
		})
	}
}

// Expected values are computed, independent of this package, in the table
// rim_shadow_cone_beam of the reference data: a rim of 26 mm radius at 40
// degrees of inclination and 15 of anteversion.
func TestRingInConeBeam(t *testing.T) {
	for _, c := range []struct {
		name             string
		lateral, caudal  float64
		long, short, inc float64
	}{
		{"on axis", 0, 0, 29.90943367568433, 7.743573448778135, 39.99999999999996},
		{"lateral", 100, 0, 29.994524872811777, 5.869257397370826, 40.86301826148275},
		{"lateral and caudal", 100, 60, 29.93010629981801, 4.55451332386211, 40.32804233887524},
		{"cranial", 0, -60, 29.932292674089506, 9.064939278010607, 40.71198459691347},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := square(1000, 1150)
			v := newView(s)
			h := Hip{Side: measure.Left, Inclination: 40, Anteversion: 15}
			center := vec{c.lateral, c.caudal, 0}
			ring := v.ringEllipse(center, h.opening(), 26)
			assert.InDelta(t, c.long, ring.A*s.Spacing, 1e-9)
			assert.InDelta(t, c.short, ring.B*s.Spacing, 1e-9)
			assert.InDelta(t, 180-c.inc, ring.Angle, 1e-9)
			// Every point of the ring is on the ellipse with that centre, those
			// axes and that slope.
			a, b := h.opening().basis()
			sin, cos := math.Sincos(-c.inc * math.Pi / 180)
			for i := range 100 {
				s1, c1 := math.Sincos(2 * math.Pi * float64(i) / 100)
				p := v.project(center.at(a, 26*c1).at(b, 26*s1))
				dx, dy := (p.X-ring.X)*s.Spacing, (p.Y-ring.Y)*s.Spacing
				e := math.Hypot((dx*cos+dy*sin)/c.long, (dy*cos-dx*sin)/c.short)
				assert.InDelta(t, 1, e, 1e-9)
			}
		})
	}
}

func TestTruthFollowsTheHead(t *testing.T) {
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		for _, kind := range []measure.CupKind{measure.Shell, measure.Wire} {
			t.Run(side.String()+" "+string(kind), func(t *testing.T) {
				s := Plain(side)
				s.Hips[0].Cup = kind
				base, err := Truths(s)
				require.NoError(t, err)
				s.Hips[0].Superior, s.Hips[0].Medial = 1.2, -0.7
				worn, err := Truths(s)
				require.NoError(t, err)
				assert.InDelta(t, 1.2, worn[0].Offset.Superior-base[0].Offset.Superior, 0.01)
				assert.InDelta(t, -0.7, worn[0].Offset.Medial-base[0].Offset.Medial, 0.01)
				assert.Equal(t, side, worn[0].Side)
				// Head's scale is the film's: magnification 1.15 at the hips.
				assert.InDelta(t, 14*1.15/s.Spacing, base[0].Head.R, 0.5)
			})
		}
	}
}

// Concentric outlines of a head and a shell 100 mm off the central ray separate
// by about 0.05 mm on the film; a right hip's shell lies at image left.
func TestTruthOfConcentricHip(t *testing.T) {
	s := Plain(measure.Right)
	truth, err := Truths(s)
	require.NoError(t, err)
	assert.InDelta(t, 0, truth[0].Offset.Superior, 0.1)
	assert.InDelta(t, 0, truth[0].Offset.Medial, 0.1)
	assert.NotZero(t, truth[0].Offset.Medial)
	assert.Less(t, truth[0].Cup.X, float64(s.Width)/2)
	assert.InDelta(t, 27*1.15/s.Spacing, truth[0].Cup.R, 1)
}

func TestTruthInWindow(t *testing.T) {
	s := Plain(measure.Left)
	whole, err := Truths(s)
	require.NoError(t, err)
	s = s.Around(measure.Left, 100)
	part, err := Truths(s)
	require.NoError(t, err)
	assert.InDelta(t, whole[0].Head.X-float64(s.Window.Min.X), part[0].Head.X, 1e-9)
	assert.InDelta(t, whole[0].Cup.Y-float64(s.Window.Min.Y), part[0].Cup.Y, 1e-9)
	assert.InDelta(t, whole[0].Offset.Superior, part[0].Offset.Superior, 1e-9)
}

// The silhouette is where rays begin to meet the solid.
func TestSilhouetteBoundsTheSolids(t *testing.T) {
	s := Plain(measure.Right)
	s.Tilt, s.Rotation, s.Roll, s.BeamX = 3, -4, 2, 25
	v := newView(s)
	h := s.Hips[0]
	m := newImplant(h)
	check := func(name string, c vec, r float64, opening vec, inside func(ray) float64) {
		points := v.silhouette(c, r, opening, 0)
		require.NotEmpty(t, points, name)
		mid := v.project(c)
		for _, p := range points[5 : len(points)-5 : len(points)-5] {
			dx, dy := p.X-mid.X, p.Y-mid.Y
			l := math.Hypot(dx, dy)
			in := inside(v.ray(p.X-0.3*dx/l, p.Y-0.3*dy/l))
			out := inside(v.ray(p.X+0.3*dx/l, p.Y+0.3*dy/l))
			require.Positive(t, in, name)
			require.Zero(t, out, name)
		}
	}
	check("head", m.head, m.headR, vec{}, func(r ray) float64 { return r.sphere(m.head, m.headR).length() })
	m.screws, m.neck = nil, nil
	check("shell", m.cup, m.outer, m.opening, func(r ray) float64 {
		return r.sphere(m.cup, m.outer).and(r.below(m.cup, m.opening)).length()
	})
}

func TestSeries(t *testing.T) {
	s := Plain(measure.Left)
	course := Course{BeddingIn: 0.3, Rate: 0.2, Direction: 20}
	years := []float64{0, 1, 5, 10}
	still := Series(s, course, years, Repositioning{})
	require.Len(t, still, len(years))
	base, err := Truths(still[0])
	require.NoError(t, err)
	for i, y := range years {
		truth, err := Truths(still[i])
		require.NoError(t, err)
		p := 0.3*(1-math.Exp(-y/0.25)) + 0.2*y
		sin, cos := math.Sincos(20 * math.Pi / 180)
		assert.InDelta(t, p*cos, truth[0].Offset.Superior-base[0].Offset.Superior, 0.01)
		assert.InDelta(t, p*sin, truth[0].Offset.Medial-base[0].Offset.Medial, 0.01)
	}
	assert.Zero(t, s.Hips[0].Superior, "the scene is not changed")
	moved := Series(s, course, years, Repositioning{ShiftMM: 5, Degrees: 1, BeamMM: 5})
	again := Series(s, course, years, Repositioning{ShiftMM: 5, Degrees: 1, BeamMM: 5})
	assert.Equal(t, moved, again)
	assert.NotEqual(t, moved[0].ShiftX, moved[1].ShiftX)
	assert.NotEqual(t, moved[0].Seed, moved[1].Seed)
	for _, m := range moved {
		assert.NoError(t, m.Validate())
	}
}
