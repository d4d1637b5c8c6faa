package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"linerwatch/measure"
)

// rimPoints projects a rim of the given radius whose centre lies lateral and
// caudal of the central ray and depth from the source, all mm.
func rimPoints(b measure.Beam, o measure.Radiographic, side measure.Side, radius, lateral, caudal, depth float64) []measure.Point {
	si, ci := math.Sincos(o.Inclination * math.Pi / 180)
	sv, cv := math.Sincos(o.Anteversion * math.Pi / 180)
	// Two unit vectors across the axis: along the rim in the coronal plane, and
	// across both; x lateral, y anterior, z caudal.
	e := [3]float64{ci, 0, -si}
	g := [3]float64{-si * sv, cv, -ci * sv}
	var points []measure.Point
	for i := range 90 {
		s, c := math.Sincos(float64(i) * math.Pi / 45)
		x := lateral + radius*(c*e[0]+s*g[0])
		y := radius * (c*e[1] + s*g[1])
		z := caudal + radius*(c*e[2]+s*g[2])
		m := b.SourceImage / (depth - y) / b.Spacing // anterior is towards the source
		points = append(points, measure.Point{X: b.Center.X - side.Medial()*x*m, Y: b.Center.Y + z*m})
	}
	return points
}

// ellipseOf returns the ellipse through points on it: the solution of
// a x² + b xy + c y² + d x + e y = 1 about their mean.
func ellipseOf(points []measure.Point) measure.EllipseFit {
	var x0, y0 float64
	n := len(points)
	for _, p := range points {
		x0, y0 = x0+p.X/float64(n), y0+p.Y/float64(n)
	}
	const unit = 100 // px, so that squares and places are of one size
	rows, one := mat.NewDense(n, 5, nil), mat.NewVecDense(n, nil)
	for i, p := range points {
		x, y := (p.X-x0)/unit, (p.Y-y0)/unit
		rows.SetRow(i, []float64{x * x, x * y, y * y, x, y})
		one.SetVec(i, 1)
	}
	var q mat.VecDense
	if err := q.SolveVec(rows, one); err != nil {
		panic(err)
	}
	a, b, c, d, e := q.AtVec(0), q.AtVec(1), q.AtVec(2), q.AtVec(3), q.AtVec(4)
	det := 4*a*c - b*b
	x, y := (b*e-2*c*d)/det, (b*d-2*a*e)/det
	level := 1 - (d*x+e*y)/2
	mean, half := (a+c)/2, math.Hypot(a-c, b)/2
	return measure.EllipseFit{Ellipse: measure.Ellipse{
		X: x0 + unit*x, Y: y0 + unit*y, A: unit * math.Sqrt(level/(mean-half)), B: unit * math.Sqrt(level/(mean+half)),
		Angle: math.Mod(math.Atan2(b, a-c)*90/math.Pi+90, 180),
	}}
}

// TestBeamRim compares the ellipses with those computed with numpy, and the
// orientation they are turned back into with the one that cast them.
func TestBeamRim(t *testing.T) {
	var ref struct {
		Rims []struct {
			Inclination, Anteversion, Depth, Detector float64
			Radius                                    float64 `json:"rim_radius"`
			Lateral                                   float64 `json:"offset_lateral"`
			Caudal                                    float64 `json:"offset_caudal"`
			A                                         float64 `json:"major_semi_axis"`
			B                                         float64 `json:"minor_semi_axis"`
			Version                                   float64 `json:"version_from_ratio_deg"`
			Slope                                     float64 `json:"inclination_from_long_axis_deg"`
		} `json:"rim_shadow_cone_beam"`
	}
	loadJSON(t, "geometry_examples.json", &ref)
	require.Len(t, ref.Rims, 15)
	for _, c := range ref.Rims {
		for _, side := range []measure.Side{measure.Right, measure.Left} {
			t.Run(fmt.Sprintf("%v %g %g at %g %g", side, c.Inclination, c.Anteversion, c.Lateral, c.Caudal), func(t *testing.T) {
				b := measure.Beam{SourceImage: c.Detector, Center: measure.Point{X: 1400, Y: 1200}, Spacing: 0.15}
				cup := measure.Radiographic{Inclination: c.Inclination, Anteversion: c.Anteversion}
				e := ellipseOf(rimPoints(b, cup, side, c.Radius, c.Lateral, c.Caudal, c.Depth))
				assert.InDelta(t, c.A/0.15, e.A, 1e-6)
				assert.InDelta(t, c.B/0.15, e.B, 1e-6)
				apparent, err := measure.ReadRim(e, side, 0)
				require.NoError(t, err)
				assert.InDelta(t, c.Version, apparent.Anteversion, 1e-6)
				assert.InDelta(t, c.Slope, apparent.Inclination, 1e-6)

				p, q, err := b.Rim(e, side, 0)
				require.NoError(t, err)
				if math.Abs(q.Anteversion-c.Anteversion) < math.Abs(p.Anteversion-c.Anteversion) {
					p, q = q, p
				}
				assert.InDelta(t, c.Inclination, p.Inclination, 1e-6)
				assert.InDelta(t, c.Anteversion, p.Anteversion, 1e-6)
				m := c.Detector / c.Depth / 0.15
				assertCircle(t, planeCircle{XC: 1400 - side.Medial()*c.Lateral*m, YC: 1200 + c.Caudal*m, R: c.Radius * m}, p.Rim, 1e-5)

				// The other pose casts the same ellipse.
				again := ellipseOf(rimPoints(b, q.Radiographic, side,
					c.Radius, -side.Medial()*(q.Rim.X-1400)*c.Radius/q.Rim.R, (q.Rim.Y-1200)*c.Radius/q.Rim.R, c.Radius*c.Detector/0.15/q.Rim.R))
				assertEllipse(t, planeEllipse{XC: e.X, YC: e.Y, A: e.A, B: e.B, Angle: e.Angle}, again.Ellipse, 1e-8)
			})
		}
	}
}

func TestBeamRimTurnedFilm(t *testing.T) {
	b := measure.Beam{SourceImage: 1150, Spacing: 0.15}
	cup := measure.Radiographic{Inclination: 44, Anteversion: 18}
	points := rimPoints(b, cup, measure.Left, 26, 90, 30, 1000)
	s, c := math.Sincos(7 * math.Pi / 180)
	for i, p := range points {
		points[i] = measure.Point{X: p.X*c - p.Y*s, Y: p.X*s + p.Y*c}
	}
	e := ellipseOf(points)
	p, _, err := b.Rim(e, measure.Left, 7)
	require.NoError(t, err)
	assert.InDelta(t, 44, p.Inclination, 1e-6)
	assert.InDelta(t, 18, p.Anteversion, 1e-6)
	p.Anteversion, p.SE = -18, [2]float64{1, 2}
	r := p.Reading()
	assert.Equal(t, measure.RimReading{
		Radiographic:  measure.Radiographic{Inclination: p.Inclination, Anteversion: 18},
		SEInclination: 1, SEAnteversion: 2,
	}, r)
}

// TestBeamReadRing lays a head concentric with a marker ring in several places.
func TestBeamReadRing(t *testing.T) {
	b := measure.Beam{SourceImage: 1150, Center: measure.Point{X: 1440, Y: 1200}, Spacing: 0.148}
	var worst, left float64
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		for _, at := range [][2]float64{{92, 30}, {70, 55}, {115, 5}, {0, 0}} {
			for _, version := range []float64{5, 14, 25} {
				cup := measure.Radiographic{Inclination: 42, Anteversion: version}
				e := ellipseOf(rimPoints(b, cup, side, 24, at[0], at[1], 1000))
				m := 1.15 / 0.148
				shadow, err := b.Shadow(measure.Circle{X: 1440 - side.Medial()*at[0]*m, Y: 1200 + at[1]*m, R: 14 * m})
				require.NoError(t, err)
				h := measure.Hip{Side: side, CupKind: measure.Wire}
				h.Head.CircleFit = circle(shadow.X, shadow.Y, (shadow.A+shadow.B)/2)
				h.Cup.CircleFit, h.Cup.Ring = circle(e.X, e.Y, e.A), e.Ellipse
				r, err := b.ReadHip(h, 28, 0)
				require.NoError(t, err)
				// Where the other pose is the more anteverted one, the choice is wrong.
				p, _, err := b.Rim(e, side, 0)
				require.NoError(t, err)
				moved, _ := r.Moved.Magnitude()
				worst = max(worst, moved)
				if math.Abs(p.Anteversion-version) > 1e-6 {
					t.Logf("%v %v version %g: pose %.2f", side, at, version, p.Anteversion)
					continue
				}
				size, _ := r.Offset.Magnitude()
				left = max(left, size)
				assert.InDelta(t, 24*m, r.Cup.R, 1e-4)
			}
		}
	}
	t.Logf("largest shift %.3f mm, left %.1e mm", worst, left)
	assert.Greater(t, worst, 0.1)
	assert.Less(t, left, 2e-4)

	h := measure.Hip{Side: measure.Right}
	h.Head.CircleFit, h.Cup.CircleFit = circle(600, 1400, 108), circle(600, 1402, 190)
	h.Cup.Ring = measure.Ellipse{X: 600, Y: 1402, A: 190, B: 40, Angle: 42}
	h.Cup.RingCov = [5][5]float64{{0.01}, {0, 0.01}, {0, 0, 0.04}, {0, 0, 0, 25}, {0, 0, 0, 0, 1e-6}}
	withErrors, err := b.ReadHip(h, 28, 0)
	require.NoError(t, err)
	pose, _, err := b.Rim(h.Cup.RingFit(), h.Side, 0)
	require.NoError(t, err)
	assert.Equal(t, pose.Cov, withErrors.Cup.Cov)
	assert.Greater(t, withErrors.Cup.Cov[0][0], 0.012, "how wide the ring is moves its centre")
	h.Cup.Ring.B, h.Cup.RingCov = 0, [5][5]float64{}
	edge, err := b.ReadHip(h, 28, 0)
	require.NoError(t, err)
	assert.False(t, math.IsNaN(edge.Offset.Superior+edge.Offset.Medial+edge.Thinnest))
	h.Side = measure.SideUnknown
	_, err = b.ReadHip(h, 28, 0)
	assert.EqualError(t, err, "measure: shape.no-side")
}

// TestBeamRimScatter compares the stated errors with the scatter of rims whose
// parameters err as stated.
func TestBeamRimScatter(t *testing.T) {
	b := measure.Beam{SourceImage: 1150, Spacing: 0.15}
	cup := measure.Radiographic{Inclination: 44, Anteversion: 18}
	rim := ellipseOf(rimPoints(b, cup, measure.Right, 26, 90, 30, 1000))
	sd := [5]float64{0.05, 0.07, 0.04, 0.3, 3e-4}
	root := [5][5]float64{{sd[0]}, {0, sd[1]}, {0.02, 0, sd[2]}, {0, 0.1, 0.1, sd[3]}, {0, 0, 1e-4, 0, sd[4]}}
	for i := range root {
		for j := range root {
			for k := range root {
				rim.Cov[i][j] += root[i][k] * root[j][k]
			}
		}
	}
	rng := rand.New(rand.NewPCG(71, 72))
	m := 1.15 / 0.15
	want := [5]float64{44, 18, -90 * m, 30 * m, 26 * m}
	const n = 3000
	var squares, stated [5]float64
	for range n {
		e, d := rim, [5]float64{}
		for k := range root {
			z := rng.NormFloat64()
			for i := range d {
				d[i] += root[i][k] * z
			}
		}
		e.X, e.Y, e.A, e.B, e.Angle = e.X+d[0], e.Y+d[1], e.A+d[2], e.B+d[3], e.Angle+d[4]*180/math.Pi
		p, _, err := b.Rim(e, measure.Right, 0)
		require.NoError(t, err)
		variance := [5]float64{p.SE[0] * p.SE[0], p.SE[1] * p.SE[1], p.Cov[0][0], p.Cov[1][1], p.Cov[2][2]}
		for i, got := range [5]float64{p.Inclination, p.Anteversion, p.Rim.X, p.Rim.Y, p.Rim.R} {
			squares[i] += (got - want[i]) * (got - want[i]) / n
			stated[i] += variance[i] / n
		}
	}
	for i := range squares {
		assert.InEpsilon(t, math.Sqrt(squares[i]), math.Sqrt(stated[i]), 0.05, "the scatter of 3000 is told to 1.3 %%")
	}
}

func TestBeamRimRefuses(t *testing.T) {
	b := measure.Beam{SourceImage: 1150, Spacing: 0.15}
	fit := measure.EllipseFit{Ellipse: measure.Ellipse{A: 170, B: 40}}
	edgeOn := fit
	edgeOn.B = 0
	_, _, err := b.Rim(edgeOn, measure.Left, 0)
	assert.ErrorIs(t, err, measure.ErrNotEllipse)
	_, _, err = b.Rim(fit, measure.SideUnknown, 0)
	assert.ErrorIs(t, err, measure.ErrNoSide)
	_, _, err = b.Rim(fit, measure.Left, math.NaN())
	assert.ErrorIs(t, err, measure.ErrNotFinite)
	_, _, err = measure.Beam{}.Rim(fit, measure.Left, 0)
	assert.EqualError(t, err, "measure: distance from source to film of 0 mm must be positive")
}

func ExampleBeam_Rim() {
	b := measure.Beam{SourceImage: 1150, Center: measure.Point{X: 1440, Y: 1200}, Spacing: 0.15}
	rim := measure.EllipseFit{Ellipse: measure.Ellipse{X: 674, Y: 1200, A: 200, B: 39.1, Angle: 40.9}}
	plain, err := measure.ReadRim(rim, measure.Right, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	p, q, err := b.Rim(rim, measure.Right, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("as seen %.1f; in the beam %+.1f or %+.1f degrees\n", plain.Anteversion, p.Anteversion, q.Anteversion)
	// Output: as seen 11.3; in the beam +15.0 or -7.5 degrees
}
