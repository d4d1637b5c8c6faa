package phantom

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// walked is how much of a ray lies where in says, by steps of 0.01 mm between two
// distances from the source: a second way to every path length.
func walked(r ray, from, to float64, in func(p vec) bool) float64 {
	const step = 0.01
	n := 0.0
	for t := from; t < to; t += step {
		if in(r.from.at(r.dir, t)) {
			n++
		}
	}
	return n * step
}

// inCone reports whether a point lies in a cone.
func inCone(c cone, p vec) bool {
	d := p.sub(c.from)
	z := d.dot(c.axis)
	return z >= 0 && z <= c.length && d.sub(c.axis.mul(z)).norm() <= c.r0+(c.r1-c.r0)*z/c.length
}

// The paths through shell, flange, head, skirt and neck, of which each displaces
// the others, are those that walking along the ray gives.
func TestFlangeAndSkirtPaths(t *testing.T) {
	h := DefaultHip(measure.Left)
	h.StemMaterial, h.ShellMaterial = Steel, Titanium
	h.Superior, h.Anteversion, h.RimMM = 2, 20, -1
	h.Detail = Detail{FlangeMM: 1.5, SkirtMM: 6}
	m := newImplant(h)
	rng := rand.New(rand.NewPCG(4, 4))
	source := vec{0, 0, 1000}
	hits := map[string]int{}
	for range 400 {
		at := m.cup.add(vec{70*rng.Float64() - 35, 70*rng.Float64() - 35, 0})
		r := ray{source, at.sub(source).unit()}
		var l lengths
		m.through(r, &l)
		inHead := func(p vec) bool { return p.sub(m.head).norm() <= m.headR }
		inNeck := func(p vec) bool {
			for _, c := range m.neck {
				if inCone(c, p) {
					return true
				}
			}
			return false
		}
		below := func(p vec) bool { return p.sub(h.rimCenter()).dot(m.opening) <= 0 }
		shell := walked(r, 940, 1060, func(p vec) bool {
			d := p.sub(m.cup).norm()
			if d <= m.inner {
				return false
			}
			return d <= m.outer && below(p) || inCone(m.flange[0], p)
		})
		head := walked(r, 940, 1060, func(p vec) bool { return !inNeck(p) && (inHead(p) || inCone(m.skirt[0], p)) })
		assert.InDelta(t, shell, l[titanium], 0.05, "shell and flange")
		assert.InDelta(t, head, l[cocr], 0.05, "head and skirt")
		for name, mm := range map[string]float64{"shell": shell, "head": head} {
			if mm > 0 {
				hits[name]++
			}
		}
	}
	assert.Greater(t, hits["shell"], 100)
	assert.Greater(t, hits["head"], 40)
}

func TestPieces(t *testing.T) {
	down := vec{0, 0, -1}
	for _, c := range []struct {
		name string
		p    Piece
		at   vec
		want float64
	}{
		{"ball", Piece{Shape: Ball, From: [3]float64{5, 0, 0}, Radius: 13}, vec{5, 5, 900}, 24},
		{"rod across", Piece{Shape: Rod, From: [3]float64{-20, 0, 0}, To: [3]float64{20, 0, 0}, Radius: 5}, vec{0, 3, 900}, 8},
		{"bar across", Piece{Shape: Bar, From: [3]float64{-20, 0, 0}, To: [3]float64{20, 0, 0}, Width: 6, Thick: 14}, vec{0, 2.9, 900}, 14},
		{"beside the bar", Piece{Shape: Bar, From: [3]float64{-20, 0, 0}, To: [3]float64{20, 0, 0}, Width: 6, Thick: 14}, vec{0, 3.1, 900}, 0},
		{"beyond its end", Piece{Shape: Bar, From: [3]float64{-20, 0, 0}, To: [3]float64{20, 0, 0}, Width: 6, Thick: 14}, vec{20.1, 0, 900}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.NoError(t, c.p.validate(""))
			assert.InDelta(t, c.want, newMetal(c.p).cut(ray{c.at, down}).length(), 1e-9)
		})
	}
	for _, p := range []Piece{{}, {Shape: Ball}, {Shape: Rod, Radius: 2}, {Shape: Ball, Radius: 5, Material: Alumina}} {
		var e *SceneError
		assert.ErrorAs(t, p.validate("Pieces[0]."), &e, "%+v", p)
	}
}

// A rough surface keeps the mean radius that it has smooth.
func TestRoughSurface(t *testing.T) {
	h := DefaultHip(measure.Right)
	h.Detail = Detail{Variant: 3, RoughMM: 0.2, GrainMM: 0.8}
	m := newImplant(h)
	smooth := newImplant(DefaultHip(measure.Right))
	var sum, squares, n float64
	for i := range 4000 {
		sin, cos := math.Sincos(float64(i))
		at := m.cup.add(vec{15 * cos, 15 * sin, 0})
		r := ray{vec{at.x, at.y, 900}, vec{0, 0, -1}}
		d := (m.coat.sphere(r, m.cup).length() - smooth.coat.sphere(r, m.cup).length()) / 2
		d *= math.Sqrt(27*27-15*15) / 27 // along the radius
		sum, squares, n = sum+d, squares+d*d, n+1
	}
	assert.InDelta(t, 0, sum/n, 0.03)
	assert.InDelta(t, 0.2, math.Sqrt(squares/n), 0.06)
}

func TestLead(t *testing.T) {
	p := newPlaque(Letter{Text: "I", X: 50, Y: 40, Height: 20, Passes: 0.02}, 0.5)
	at := func(x, y int) float32 { return p.shade[(y-p.box.Min.Y)*p.box.Dx()+x-p.box.Min.X] }
	assert.InDelta(t, 0.02, at(100, 80), 1e-6, "the middle of the stroke")
	assert.EqualValues(t, 1, at(110, 80), "5 mm beside it")

	blade := []Blade{{X: 100, Y: 0, Angle: 0}}
	assert.EqualValues(t, 1, passes(blade, 97, 30))
	assert.InDelta(t, 0.5, passes(blade, 100, 30), 0.01)
	assert.InDelta(t, leak, passes(blade, 103, 30), 1e-9)
	assert.EqualValues(t, 1, passes(nil, 0, 0))
}

func TestSpectrum(t *testing.T) {
	mean := func(s [bins]float64) (m, sum float64) {
		for i, f := range s {
			m, sum = m+f*energies[i], sum+f
		}
		return m, sum
	}
	assert.Equal(t, fluence, spectrum(0))
	soft, a := mean(spectrum(-1))
	usual, _ := mean(spectrum(0))
	hard, b := mean(spectrum(1))
	assert.InDelta(t, 1, a, 1e-12)
	assert.InDelta(t, 1, b, 1e-12)
	assert.Greater(t, usual, soft+1)
	assert.Greater(t, hard, usual+1)
}

// The centre of a ring falls where the projections of two of its diameters cross.
func TestCenterOfRing(t *testing.T) {
	s := Plain(measure.Right)
	s.Hips[0].Cup, s.Hips[0].Anteversion, s.ShiftY = measure.Wire, 30, 40
	truth, err := Truths(s)
	require.NoError(t, err)
	v := newView(s)
	h := s.Hips[0]
	a, b := h.opening().basis()
	end := func(deg float64) measure.Point {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return v.project(h.cupCenter().at(a, 25*cos).at(b, 25*sin))
	}
	p, q, r, u := end(20), end(200), end(110), end(290)
	// The crossing of the lines p-q and r-u.
	dx1, dy1, dx2, dy2 := q.X-p.X, q.Y-p.Y, u.X-r.X, u.Y-r.Y
	k := ((r.X-p.X)*dy2 - (r.Y-p.Y)*dx2) / (dx1*dy2 - dy1*dx2)
	assert.InDelta(t, p.X+k*dx1, truth[0].Cup.X, 1e-6)
	assert.InDelta(t, p.Y+k*dy1, truth[0].Cup.Y, 1e-6)
	off := math.Hypot(truth[0].Cup.X-truth[0].Rim.X, truth[0].Cup.Y-truth[0].Rim.Y) * h.HeadMM / 2 / truth[0].Head.R
	assert.Greater(t, off, 0.1, "mm")
	assert.Less(t, off, 0.4, "mm")
}

func TestDetailIsChecked(t *testing.T) {
	s := Plain(measure.Right)
	s.Hips[0].Detail.FlangeMM = 9
	var e *SceneError
	require.ErrorAs(t, s.Validate(), &e)
	assert.Equal(t, "Hips[0].Detail.FlangeMM", e.Field)
	s = Plain(measure.Right)
	s.Pieces = []Piece{{Shape: "cube"}}
	require.ErrorAs(t, s.Validate(), &e)
	assert.Equal(t, "Pieces[0].Shape", e.Field)
}

// Expose is what Render turns into greys.
func TestExpose(t *testing.T) {
	s := small(Plain(measure.Right))
	d, err := Expose(s)
	require.NoError(t, err)
	img, err := Render(s)
	require.NoError(t, err)
	require.Equal(t, img.Rect.Dx(), d.W)
	require.Equal(t, img.Rect.Dy(), d.H)
	top := float64(int(1)<<s.Bits - 1)
	for i := 0; i < len(d.V); i += 101 {
		assert.InDelta(t, grey(float64(d.V[i]))*top, float64(img.Gray16At(i%d.W, i/d.W).Y), 1.5)
	}
}
