package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// A head of 28 mm and 100 px is 0.14 mm per px; the cup has 180 px.
func outlines(dx, dy float64, side measure.Side, alpha float64) measure.Outlines {
	return measure.Outlines{
		Head: circle(1000+dx, 1000+dy, 100), Cup: circle(1000, 1000, 180),
		HeadMM: 28, Side: side, Alpha: alpha,
	}
}

func TestGap(t *testing.T) {
	for _, c := range []struct {
		name      string
		o         measure.Outlines
		direction float64
	}{
		{"up", outlines(0, -10, measure.Right, 0), 0},
		{"medial on a right hip", outlines(10, 0, measure.Right, 0), 90},
		{"lateral on a left hip", outlines(10, 0, measure.Left, 0), -90},
		{"turned film", outlines(10*math.Sin(0.3), -10*math.Cos(0.3), measure.Left, 0.3*180/math.Pi), 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			g, err := c.o.Gap()
			require.NoError(t, err)
			assert.InDelta(t, 0.14*90, g.Widest.MM, 1e-12)
			assert.InDelta(t, 1.4, g.Uniradiograph.MM, 1e-12)
			assert.InDelta(t, c.direction, g.Direction, 1e-10)
			thin, err := measure.Read(c.o.Head, c.o.Cup, c.o.HeadMM, c.o.Side, c.o.Alpha)
			require.NoError(t, err)
			assert.InDelta(t, (g.Widest.MM-thin.Thinnest)/2, g.Uniradiograph.MM, 1e-12)
		})
	}
	_, err := outlines(0, 0, measure.Left, 0).Gap()
	assert.ErrorIs(t, err, measure.ErrConcentric)
}

// The line of the latest film meets the baseline's outline where one walks along it.
func TestShortestDistanceOnTheBaseline(t *testing.T) {
	o := outlines(23, -41, measure.Left, 6)
	for direction := -170.0; direction <= 180; direction += 35 {
		phi := direction * math.Pi / 180
		// Superior and medial of a left hip on the unturned film, then turned.
		x, y := -math.Sin(phi), -math.Cos(phi)
		s, c := math.Sincos(6 * math.Pi / 180)
		x, y = x*c-y*s, x*s+y*c
		d, err := measure.ShortestDistance(o, outlines(10*x, 10*y, measure.Left, 6))
		require.NoError(t, err)
		px := d.Baseline.MM / 0.14
		assert.InDelta(t, 180, math.Hypot(23+px*x, -41+px*y), 1e-10)
	}
}

func TestShortestDistance(t *testing.T) {
	t.Run("along the line of wear", func(t *testing.T) {
		s, err := measure.ShortestDistance(outlines(0, -2, measure.Right, 0), outlines(0, -12, measure.Right, 0))
		require.NoError(t, err)
		assert.InDelta(t, 1.4, s.Wear.MM, 1e-12)
		assert.InDelta(t, 0, s.Direction, 1e-12)
		assert.InDelta(t, 0.14*168, s.Latest.MM, 1e-12)
	})
	t.Run("films turned differently", func(t *testing.T) {
		turn := func(dx, dy, alpha float64) measure.Outlines {
			s, c := math.Sincos(alpha * math.Pi / 180)
			return outlines(dx*c-dy*s, dx*s+dy*c, measure.Left, alpha)
		}
		a, err := measure.ShortestDistance(turn(3, -4, 0), turn(-5, -14, 0))
		require.NoError(t, err)
		b, err := measure.ShortestDistance(turn(3, -4, -9), turn(-5, -14, 5))
		require.NoError(t, err)
		assert.InDelta(t, a.Wear.MM, b.Wear.MM, 1e-12)
		assert.InDelta(t, a.Direction, b.Direction, 1e-10)
	})
	t.Run("narrowest paths elsewhere", func(t *testing.T) {
		// A head that goes round at the same distance has no duoradiograph value
		// but comes nearer in the new direction.
		a, b := outlines(10, 0, measure.Right, 0), outlines(0, -10, measure.Right, 0)
		d, err := measure.Duoradiograph(a, b)
		require.NoError(t, err)
		assert.InDelta(t, 0, d.MM, 1e-12)
		s, err := measure.ShortestDistance(a, b)
		require.NoError(t, err)
		assert.InDelta(t, 0.14*(math.Sqrt(180*180-100)-170), s.Wear.MM, 1e-12)
	})
	for _, c := range []struct {
		name string
		a, b measure.Outlines
		want string
	}{
		{"concentric", outlines(1, 1, measure.Left, 0), outlines(0, 0, measure.Left, 0), "measure: shape.concentric"},
		{"sides", outlines(1, 1, measure.Left, 0), outlines(1, 1, measure.Right, 0), "measure: shape.two-sides"},
		{"out of the cup", outlines(200, 1, measure.Left, 0), outlines(1, 1, measure.Left, 0), "measure: distance between the centres of 200.002 px must be less than the cup's radius"},
		{"not a number", outlines(math.NaN(), 1, measure.Left, 0), outlines(1, 1, measure.Left, 0), "measure: shape.outline-not-finite"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := measure.ShortestDistance(c.a, c.b)
			if c.name == "out of the cup" {
				var out *measure.RangeError
				assert.ErrorAs(t, err, &out)
				return
			}
			assert.EqualError(t, err, c.want)
		})
	}
	bad := outlines(1, 1, measure.SideUnknown, 0)
	good := outlines(1, 1, measure.Left, 0)
	const noSide = "measure: shape.no-side"
	_, err := bad.Gap()
	assert.EqualError(t, err, noSide)
	_, err = measure.Duoradiograph(bad, good)
	assert.EqualError(t, err, noSide)
	_, err = measure.Duoradiograph(good, bad)
	assert.EqualError(t, err, noSide)

	a, b := outlines(1, 1, measure.Left, 0), outlines(1, 2, measure.Left, 0)
	b.HeadMM = 32
	_, err = measure.ShortestDistance(a, b)
	assert.EqualError(t, err, "measure: shape.two-heads")
}

// TestThicknessErrors compares the stated errors with the scatter of outlines
// drawn from the stated covariances.
func TestThicknessErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	rootH := [3][3]float64{{0.3, 0, 0}, {0.1, 0.25, 0}, {-0.05, 0.1, 0.15}}
	rootC := [3][3]float64{{0.2, 0, 0}, {-0.1, 0.4, 0}, {0.05, -0.2, 0.1}}
	a, b := outlines(14, 9, measure.Right, 2), outlines(-12, -22, measure.Right, -3)
	for _, o := range []*measure.Outlines{&a, &b} {
		o.Head.Cov, o.Cup.Cov = square(rootH), square(rootC)
	}
	short, err := measure.ShortestDistance(a, b)
	require.NoError(t, err)
	duo, err := measure.Duoradiograph(a, b)
	require.NoError(t, err)
	gap, err := b.Gap()
	require.NoError(t, err)
	want := []measure.Length{short.Wear, duo, gap.Widest, gap.Uniradiograph}
	const n = 20000
	var squares [4]float64
	for range n {
		p, q := a, b
		p.Head.Circle, p.Cup.Circle = shifted(a.Head.Circle, rootH, rng), shifted(a.Cup.Circle, rootC, rng)
		q.Head.Circle, q.Cup.Circle = shifted(b.Head.Circle, rootH, rng), shifted(b.Cup.Circle, rootC, rng)
		s, err := measure.ShortestDistance(p, q)
		require.NoError(t, err)
		d, err := measure.Duoradiograph(p, q)
		require.NoError(t, err)
		g, err := q.Gap()
		require.NoError(t, err)
		for i, v := range []float64{s.Wear.MM, d.MM, g.Widest.MM, g.Uniradiograph.MM} {
			squares[i] += (v - want[i].MM) * (v - want[i].MM)
		}
	}
	for i := range squares {
		// The scatter of a standard deviation from n draws is 0.5 %.
		assert.InEpsilon(t, want[i].SE, math.Sqrt(squares[i]/n), 0.025, "quantity %d", i)
	}
}

func ExampleOutlines_Gap() {
	o := measure.Outlines{
		Head:   measure.CircleFit{Circle: measure.Circle{X: 1005, Y: 990, R: 100}},
		Cup:    measure.CircleFit{Circle: measure.Circle{X: 1000, Y: 1000, R: 180}},
		HeadMM: 28, Side: measure.Right,
	}
	g, err := o.Gap()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm at the widest, narrowest at %.0f degrees, uniradiograph %.2f mm\n", g.Widest.MM, g.Direction, g.Uniradiograph.MM)
	// Output: 12.77 mm at the widest, narrowest at 27 degrees, uniradiograph 1.57 mm
}

func ExampleShortestDistance() {
	film := func(x, y float64) measure.Outlines {
		return measure.Outlines{
			Head:   measure.CircleFit{Circle: measure.Circle{X: x, Y: y, R: 100}},
			Cup:    measure.CircleFit{Circle: measure.Circle{X: 1000, Y: 1000, R: 180}},
			HeadMM: 28, Side: measure.Right,
		}
	}
	s, err := measure.ShortestDistance(film(1001, 998), film(1004, 988))
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := measure.Duoradiograph(film(1001, 998), film(1004, 988))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm at %.0f degrees; duoradiograph %.3f mm\n", s.Wear.MM, s.Direction, d.MM)
	// Output: 1.461 mm at 18 degrees; duoradiograph 1.458 mm
}

// TestSharedErrors draws a part of the errors once for both films of a hip: it
// leaves the differences between them, as far as they look the same way.
func TestSharedErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 44))
	own := [3][3]float64{{0.1, 0, 0}, {0.02, 0.08, 0}, {-0.01, 0.03, 0.05}}
	same := [3][3]float64{{0.3, 0, 0}, {-0.1, 0.4, 0}, {0.05, -0.2, 0.2}}
	a, b := outlines(9, 6, measure.Right, 0), outlines(-6, -22, measure.Right, 0)
	for _, f := range []*measure.CircleFit{&a.Head, &a.Cup, &b.Head, &b.Cup} {
		f.Shared = square(same)
		cov := square(own)
		for i := range cov {
			for j := range cov {
				f.Cov[i][j] = cov[i][j] + f.Shared[i][j]
			}
		}
	}
	short, err := measure.ShortestDistance(a, b)
	require.NoError(t, err)
	duo, err := measure.Duoradiograph(a, b)
	require.NoError(t, err)
	const n = 20000
	var wear, path float64
	for range n {
		seed := rng.Uint64()
		draw := func(o measure.Outlines) measure.Outlines {
			again := rand.New(rand.NewPCG(seed, 1))
			o.Head.Circle = shifted(shifted(o.Head.Circle, same, again), own, rng)
			o.Cup.Circle = shifted(shifted(o.Cup.Circle, same, again), own, rng)
			return o
		}
		p, q := draw(a), draw(b)
		s, err := measure.ShortestDistance(p, q)
		require.NoError(t, err)
		d, err := measure.Duoradiograph(p, q)
		require.NoError(t, err)
		wear += (s.Wear.MM - short.Wear.MM) * (s.Wear.MM - short.Wear.MM) / n
		path += (d.MM - duo.MM) * (d.MM - duo.MM) / n
	}
	assert.InEpsilon(t, short.Wear.SE, math.Sqrt(wear), 0.025)
	assert.InEpsilon(t, duo.SE, math.Sqrt(path), 0.025)
	alone := math.Hypot(short.Baseline.SE, short.Latest.SE)
	assert.Less(t, short.Wear.SE, 0.8*alone)
}
