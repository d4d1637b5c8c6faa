package pack

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// outline is one as the program fits it: n edges on rays from about its centre, 0.3 px
// off the circle, some left out.
func outline(n int, seed uint64) study.Outline {
	r := rand.New(rand.NewPCG(seed, 1))
	var o study.Outline
	o.Circle = study.Circle{X: 1234.5678, Y: 987.6543, R: 166.789}
	for i := range n {
		a := 360 * float64(i) / float64(n)
		sin, cos := math.Sincos(a * math.Pi / 180)
		e := study.Edge{Angle: a, Strength: 300 * math.Exp(0.4*r.NormFloat64()), SD: 0.1 * math.Exp(0.4*r.NormFloat64())}
		d := o.R + 0.3*r.NormFloat64()
		e.X, e.Y = o.X+0.4+d*cos, o.Y-0.3+d*sin // the rays go out from where the search began
		e.Residual = o.Distance(e.Point)
		switch {
		case i%17 == 3:
			e.Reject = "no edge"
		case i%23 > 18:
			e.Reject = "covered by the neck"
		default:
			o.Points, o.Residuals = append(o.Points, e.Point), append(o.Residuals, e.Residual)
		}
		o.Edges = append(o.Edges, e)
	}
	return o
}

// half a unit along each of two axes, with what rounding in double precision adds.
const tolerance = pixel * 0.71

func near(t *testing.T, want study.Outline, got study.EdgePoints) {
	t.Helper()
	require.Len(t, got.All, len(want.Edges))
	for i, e := range want.Edges {
		g := got.All[i]
		assert.InDelta(t, e.X, g.X, tolerance)
		assert.InDelta(t, e.Y, g.Y, tolerance)
		assert.InDelta(t, e.Residual, g.Residual, tolerance)
		assert.InDelta(t, e.Angle, g.Angle, 0.51*degree)
		assert.InDelta(t, e.Strength, g.Strength, 0.51*ratio*e.Strength+2e-9)
		assert.InDelta(t, e.SD, g.SD, 0.51*ratio*e.SD+2e-9)
		assert.Equal(t, e.Reject, g.Reject)
	}
	require.Len(t, got.Fitted, len(want.Points))
	require.Len(t, got.Residuals, len(want.Residuals))
	for i, p := range want.Points {
		assert.InDelta(t, p.X, got.Fitted[i].X, tolerance)
		assert.InDelta(t, p.Y, got.Fitted[i].Y, tolerance)
	}
	for i, r := range want.Residuals {
		assert.InDelta(t, r, got.Residuals[i], tolerance)
	}
}

func TestRoundTrip(t *testing.T) {
	whole := outline(720, 1)
	for name, o := range map[string]study.Outline{
		"none":      {},
		"as fitted": whole,
		"one":       outline(1, 2),
		"points without edges": func() study.Outline {
			o := outline(4, 3)
			o.Edges = nil
			return o
		}(),
		"edges without points": func() study.Outline {
			o := outline(40, 4)
			o.Points, o.Residuals = nil, nil
			return o
		}(),
		"other points than the kept edges": func() study.Outline {
			o := outline(40, 5)
			o.Points[3].X += 7
			return o
		}(),
		"off the circle, and without strength": func() study.Outline {
			o := outline(40, 6)
			for i := range o.Edges {
				o.Edges[i].X, o.Edges[i].Residual, o.Edges[i].Strength, o.Edges[i].SD = 31, -4000.25, 0, 0
			}
			return o
		}(),
		"no circle": func() study.Outline {
			o := outline(40, 7)
			o.Circle = study.Circle{}
			return o
		}(),
	} {
		t.Run(name, func(t *testing.T) {
			b, err := Pack(o)
			require.NoError(t, err)
			got, err := Unpack(b, o.Circle)
			require.NoError(t, err)
			near(t, o, got)
		})
	}
}

// What is packed again is the same: reading and writing does not wear it down.
func TestPackedAgain(t *testing.T) {
	o := outline(360, 8)
	b, err := Pack(o)
	require.NoError(t, err)
	for range 3 {
		e, err := Unpack(b, o.Circle)
		require.NoError(t, err)
		o.Edges, o.Points, o.Residuals = e.All, e.Fitted, e.Residuals
		again, err := Pack(o)
		require.NoError(t, err)
		require.Equal(t, b, again)
	}
}

func TestSize(t *testing.T) {
	b, err := Pack(outline(720, 9))
	require.NoError(t, err)
	assert.Less(t, len(b), 5*720, "bytes")
}

func TestRefused(t *testing.T) {
	for name, v := range map[string]float64{"not a number": math.NaN(), "endless": math.Inf(1), "far off": 1e15} {
		for field, set := range map[string]func(*study.Outline){
			"place":    func(o *study.Outline) { o.Edges[1].X = v },
			"residual": func(o *study.Outline) { o.Edges[1].Residual = v },
			"angle":    func(o *study.Outline) { o.Edges[1].Angle = v },
		} {
			t.Run(field+" "+name, func(t *testing.T) {
				o := outline(4, 1)
				set(&o)
				_, err := Pack(o)
				require.ErrorIs(t, err, ErrRange)
			})
		}
	}
	o := outline(4, 1)
	o.Residuals[0] = math.NaN()
	_, err := Pack(o)
	require.ErrorIs(t, err, ErrRange, "of what is kept as it is")
}

func TestMalformed(t *testing.T) {
	o := outline(40, 1)
	b, err := Pack(o)
	require.NoError(t, err)
	for name, bad := range map[string][]byte{
		"another form": append([]byte{form + 1}, b[1:]...), "cut": b[:len(b)/2], "only its form": b[:1], "noise": {form, 7, 7, 7},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Unpack(bad, o.Circle)
			require.ErrorIs(t, err, ErrMalformed)
		})
	}
}

func FuzzUnpack(f *testing.F) {
	b, err := Pack(outline(12, 1))
	require.NoError(f, err)
	plain, err := inflated(b)
	require.NoError(f, err)
	f.Add(plain)
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, plain []byte) {
		b, err := deflated(plain)
		require.NoError(t, err)
		e, err := Unpack(b, study.Circle{R: 1})
		if err != nil {
			require.ErrorIs(t, err, ErrMalformed)
			require.Empty(t, e)
		}
	})
}

func BenchmarkPack(b *testing.B) {
	o := outline(720, 1)
	for b.Loop() {
		if _, err := Pack(o); err != nil {
			b.Fatal(err)
		}
	}
}
