package station

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure/phantom"
)

// ramp is a film whose depth rises from left to right.
func ramp(w, h int, from, to float64) *phantom.Depth {
	d := &phantom.Depth{W: w, H: h, Spacing: 0.15, V: make([]float32, w*h)}
	for i := range d.V {
		d.V[i] = float32(from + (to-from)*float64(i%w)/float64(w-1))
	}
	return d
}

// texture is a field of noise of several sizes.
func texture(w, h int) field {
	rng := rand.New(rand.NewPCG(1, 2))
	f := field{w, h, make([]float32, w*h)}
	for i := range f.v {
		f.v[i] = float32(rng.NormFloat64())
	}
	g := f.clone()
	g.blur(5)
	for i := range f.v {
		f.v[i] = 0.05*f.v[i] + 4*g.v[i]
	}
	return f
}

func TestZeroRecipeIsAStraightLine(t *testing.T) {
	img, err := Recipe{}.Develop(ramp(65, 3, -2, 3))
	require.NoError(t, err)
	for x := range 65 {
		assert.InDelta(t, 65535*float64(x)/64, float64(img.Gray16At(x, 1).Y), 20)
	}
}

func TestTonesRiseFromBlackToWhite(t *testing.T) {
	for _, tone := range Tones {
		for _, steep := range []float64{0.6, 1, 1.5} {
			law := lawOf(tone, steep, 4)
			assert.InDelta(t, 0, law(0), 1e-9, "%s", tone)
			assert.InDelta(t, 1, law(1), 0.7, "%s", tone)
			last := law(0)
			for u := 0.001; u <= 1; u += 0.001 {
				require.Greater(t, law(u), last, "%s at %g", tone, u)
				last = law(u)
			}
		}
	}
	// Grey in proportion to exposure: half of the exposure, a depth of log 2, lies
	// midway between black at 0 and no exposure at all.
	assert.InDelta(t, 0.5, lawOf(Linear, 1, 20)(math.Ln2/20), 1e-6)
}

// An impulse blurred by a Gaussian has its variance, exactly and by running means.
func TestBlur(t *testing.T) {
	for _, sigma := range []float64{0.6, 2.5, 4, 9} {
		f := field{161, 161, make([]float32, 161*161)}
		f.v[80*161+80] = 1
		f.blur(sigma)
		var sum, across, down float64
		for i, v := range f.v {
			x, y := float64(i%161-80), float64(i/161-80)
			sum, across, down = sum+float64(v), across+float64(v)*x*x, down+float64(v)*y*y
		}
		assert.InDelta(t, 1, sum, 1e-3)
		assert.InEpsilon(t, sigma, math.Sqrt(across/sum), 0.06, "sigma %g", sigma)
		assert.InEpsilon(t, sigma, math.Sqrt(down/sum), 0.06, "sigma %g", sigma)
	}
}

func TestUnsharp(t *testing.T) {
	f := field{200, 5, make([]float32, 1000)}
	for i := range f.v {
		if i%200 >= 100 {
			f.v[i] = 1
		}
	}
	Unsharp{Gain: 2, SigmaMM: 1}.apply(f, 0.25)
	row := f.row(2)
	assert.InDelta(t, 0, row[20], 1e-4, "far from the edge nothing changes")
	assert.InDelta(t, 1, row[180], 1e-4)
	// Just beside the edge the blurred step is half a step away, less half a pixel.
	assert.InDelta(t, 1+2*0.5, row[100], 0.12)
	assert.InDelta(t, -2*0.5, row[99], 0.12)
	// A limit holds the overshoot.
	for i := range f.v {
		f.v[i] = 0
		if i%200 >= 100 {
			f.v[i] = 1
		}
	}
	Unsharp{Gain: 2, SigmaMM: 1, Most: 0.1}.apply(f, 0.25)
	assert.InDelta(t, 1.2, f.row(2)[100], 1e-4)
}

// A power of one gives the film back; a lower one raises faint detail more.
func TestMultiscale(t *testing.T) {
	f := texture(131, 97)
	g := f.clone()
	Multiscale{Power: 1, M: 2}.apply(g)
	for i := range f.v {
		require.InDelta(t, f.v[i], g.v[i], 2e-3)
	}
	contrast := func(size float32) float64 {
		f := field{128, 128, make([]float32, 128*128)}
		for i := range f.v {
			f.v[i] = size * float32(math.Sin(float64(i%128)/3))
		}
		Multiscale{Power: 0.6}.apply(f)
		q := f.quantiles(0.05, 0.95)
		return (q[1] - q[0]) / float64(size)
	}
	assert.Greater(t, contrast(0.1), 1.5*contrast(1))
}

// Without a limit, and over one tile, equalisation makes greys even.
func TestEqualise(t *testing.T) {
	f := texture(120, 100)
	for i, v := range f.v {
		f.v[i] = 0.3 + 0.1*v
	}
	Equalise{Tiles: 1, Limit: cells}.apply(f)
	for i, q := range f.quantiles(0.1, 0.3, 0.5, 0.7, 0.9) {
		assert.InDelta(t, 0.1+0.2*float64(i), q, 0.02)
	}
	// Greys that are even already, everywhere, stay as they are.
	g := field{256, 256, make([]float32, 65536)}
	for i := range g.v {
		g.v[i] = float32(i*73%256) / 256
	}
	was := g.clone()
	Equalise{Tiles: 4, Limit: 2}.apply(g)
	for i := range was.v {
		require.InDelta(t, was.v[i], g.v[i], 0.04)
	}
}

func TestQuantiles(t *testing.T) {
	f := field{1000, 1, make([]float32, 1000)}
	for i := range f.v {
		f.v[i] = float32(999 - i)
	}
	q := f.quantiles(0, 0.25, 0.5, 1)
	for i, want := range []float64{0, 250, 500, 999} {
		assert.InDelta(t, want, q[i], 1)
	}
	assert.InDelta(t, 3, field{2, 1, []float32{3, 3}}.quantiles(0.5)[0], 1e-6)
}

func TestClipMaskTextBits(t *testing.T) {
	r := Recipe{Low: 0, High: 1, ClipLow: 0.25, ClipHigh: 0.25, Bits: 8,
		Mask: &Mask{[]Edge{{X: 100, Angle: 0}}}, Text: []Text{{Line: "I", X: 10, Y: 10, Height: 40, Boxed: true}}}
	img, err := r.Develop(ramp(129, 80, 0, 1))
	require.NoError(t, err)
	at := func(x, y int) int { return int(img.Gray16At(x, y).Y) }
	assert.Zero(t, at(30, 70), "clipped")
	assert.InDelta(t, 128, at(64, 70), 3)
	assert.Equal(t, 255, at(98, 70), "clipped")
	assert.Zero(t, at(101, 70), "beyond the collimator")
	assert.Equal(t, 255, at(22, 30), "text")
	assert.Zero(t, at(32, 30), "its box")
}

func TestJPEG(t *testing.T) {
	d := &phantom.Depth{W: 120, H: 90, Spacing: 0.15, V: texture(120, 90).v}
	plain, err := Recipe{Bits: 8}.Develop(d)
	require.NoError(t, err)
	off := func(quality int) (rms float64) {
		img, err := Recipe{Bits: 8, JPEG: quality}.Develop(d)
		require.NoError(t, err)
		for y := range 90 {
			for x := range 120 {
				e := float64(img.Gray16At(x, y).Y) - float64(plain.Gray16At(x, y).Y)
				rms += e * e / 120 / 90
			}
		}
		return math.Sqrt(rms)
	}
	fine, coarse := off(95), off(30)
	assert.Less(t, fine, 3.0)
	assert.Greater(t, coarse, 1.5*fine)
}

func TestScanIsTheSameForASeed(t *testing.T) {
	d := ramp(90, 70, 0, 1)
	r := Recipe{Seed: 5, Scan: Scan{BlurPX: 0.7, Grain: 0.02, Dust: 9}, Bits: 12}
	a, err := r.Develop(d)
	require.NoError(t, err)
	b, err := r.Develop(d)
	require.NoError(t, err)
	assert.Equal(t, a.Pix, b.Pix)
	r.Seed = 6
	c, err := r.Develop(d)
	require.NoError(t, err)
	assert.NotEqual(t, a.Pix, c.Pix)
}

// Grain in the middle greys has the standard deviation that was asked for.
func TestGrain(t *testing.T) {
	f := field{300, 300, make([]float32, 90000)}
	for i := range f.v {
		f.v[i] = 0.5
	}
	Scan{Grain: 0.02}.apply(f, 1)
	var squares float64
	for _, v := range f.v {
		squares += float64(v-0.5) * float64(v-0.5) / 90000
	}
	assert.InEpsilon(t, 0.02, math.Sqrt(squares), 0.1)
}

func TestRecipeIsChecked(t *testing.T) {
	for _, r := range []Recipe{{Bits: 7}, {Bits: 17}, {JPEG: 101, Bits: 8}, {JPEG: 50, Bits: 12}, {Low: 2, High: 1}, {ClipLow: 0.6, ClipHigh: 0.5}, {Low: math.NaN()}} {
		_, err := r.Develop(ramp(9, 9, 0, 1))
		assert.Error(t, err, "%+v", r)
	}
}

func ExampleRecipe_Develop() {
	depth := &phantom.Depth{W: 2, H: 1, Spacing: 0.15, V: []float32{0, 3}} // soft tissue, metal
	img, err := Recipe{Low: -1, High: 3, Bits: 12}.Develop(depth)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(img.Gray16At(0, 0).Y, img.Gray16At(1, 0).Y)
	// Output: 1024 4095
}
