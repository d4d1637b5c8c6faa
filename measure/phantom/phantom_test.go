package phantom

import (
	"errors"
	"flag"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

var look = flag.String("look", "", "folder to write films to, to be looked at")

// cast is one film of each kind.
func cast() map[string]Scene {
	right, left := DefaultHip(measure.Right), DefaultHip(measure.Left)
	wire := right
	wire.Cup, wire.ShellMM, wire.HeadMM = measure.Wire, 46, 22.2
	wire.StemMaterial, wire.HeadMaterial = Steel, Steel
	ceramic := left
	ceramic.HeadMaterial, ceramic.HeadMM, ceramic.Screws, ceramic.Holes = Alumina, 36, 2, true
	films := map[string]Scene{}
	for name, hips := range map[string][]Hip{
		"native": nil, "plain": {right}, "wire": {wire}, "ceramic": {ceramic}, "both": {right, ceramic}, "hard": {right},
	} {
		s := Default()
		s.Hips = hips
		if name == "hard" {
			s = Hard(s)
		}
		films[name] = s
		s.Patient, s.Tilt, s.Rotation = 11, 4, 3
		films[name+"-other"] = s
	}
	return films
}

func TestLook(t *testing.T) {
	if *look == "" {
		t.Skip("no folder given by -look")
	}
	for name, s := range cast() {
		img, err := Render(s)
		require.NoError(t, err)
		f, err := os.Create(filepath.Join(*look, name+".png"))
		require.NoError(t, err)
		enc := png.Encoder{CompressionLevel: png.BestSpeed}
		require.NoError(t, enc.Encode(f, img))
		require.NoError(t, f.Close())
	}
}

// long skips what the race detector would take minutes over and learn nothing
// from.
func long(t *testing.T) {
	if testing.Short() {
		t.Skip("renders many films")
	}
}

// small is a window around the right hip at a coarse pixel.
func small(s Scene) Scene {
	s.Width, s.Height, s.Spacing = 900, 750, 0.47
	return s.Around(measure.Right, 100)
}

func TestRenderIsDeterministic(t *testing.T) {
	s := small(Plain(measure.Right))
	a, err := Render(s)
	require.NoError(t, err)
	old := runtime.GOMAXPROCS(1)
	b, err := Render(s)
	runtime.GOMAXPROCS(old + 2)
	require.NoError(t, err)
	c, err := Render(s)
	runtime.GOMAXPROCS(old)
	require.NoError(t, err)
	assert.Equal(t, a.Pix, b.Pix)
	assert.Equal(t, a.Pix, c.Pix)
	s.Seed = 1
	d, err := Render(s)
	require.NoError(t, err)
	assert.NotEqual(t, a.Pix, d.Pix)
}

func TestWindowIsAPartOfTheFilm(t *testing.T) {
	long(t)
	s := Plain(measure.Right)
	s.Width, s.Height, s.Spacing = 900, 750, 0.47
	whole, err := Render(s)
	require.NoError(t, err)
	s.Window = image.Rect(171, 333, 402, 571)
	part, err := Render(s)
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, 231, 238), part.Bounds())
	for y := range 238 {
		for x := range 231 {
			require.Equal(t, whole.Gray16At(x+171, y+333), part.Gray16At(x, y), "%d, %d", x, y)
		}
	}
}

// A pixel of a film without noise, scatter and blur is the sum of its parts.
func TestPixel(t *testing.T) {
	s := small(Plain(measure.Right))
	s.Dose, s.Scatter, s.BlurMM, s.Bits = -1, -1, -1, 16
	img, err := Render(s)
	require.NoError(t, err)
	truth, err := Truths(s)
	require.NoError(t, err)
	x, y := int(truth[0].Head.X), int(truth[0].Head.Y)
	whole := s
	whole.Window = image.Rectangle{}
	v := newView(whole)
	r := v.ray(float64(x+s.Window.Min.X)+0.5, float64(y+s.Window.Min.Y)+0.5)
	w, f, b := newTissue(v).path(r)
	var l lengths
	newImplant(s.Hips[0]).through(r, &l)
	require.Greater(t, l[cocr], 15.0)
	var signal, usual float64
	for i, share := range fluence {
		mu := attenuation[water][i]*w + attenuation[fat][i]*f + attenuation[bone][i]*b
		for m, d := range l {
			mu += d * (attenuation[m][i] - attenuation[water][i])
		}
		signal += share * energies[i] / meanEnergy * math.Exp(-mu)
		usual += share * energies[i] / meanEnergy * math.Exp(-205*attenuation[water][i])
	}
	want := 65535 * grey(math.Log(usual/max(signal, 1e-12)))
	assert.InDelta(t, want, float64(img.Gray16At(x, y).Y), 2)
}

func TestGreyIsMonotonous(t *testing.T) {
	last := -1.0
	for d := -8.0; d < 30; d += 0.01 {
		g := grey(d)
		require.GreaterOrEqual(t, g, last)
		require.LessOrEqual(t, g, 1.0)
		last = g
	}
	assert.Greater(t, grey(2), grey(0.5))
	assert.Less(t, grey(-8), 0.01)
}

func TestQuickLog(t *testing.T) {
	for x := 1e-12; x < 100; x *= 1.0137 {
		assert.InDelta(t, math.Log(float64(float32(x))), float64(quickLog(float32(x))), 3e-6, "%g", x)
	}
}

func TestBitsStored(t *testing.T) {
	long(t)
	for _, bits := range []int{10, 12, 16} {
		s := small(Plain(measure.Right))
		s.Bits = bits
		img, err := Render(s)
		require.NoError(t, err)
		var top uint16
		for y := range img.Rect.Dy() {
			for x := range img.Rect.Dx() {
				top = max(top, img.Gray16At(x, y).Y)
			}
		}
		assert.LessOrEqual(t, int(top), 1<<bits-1)
		assert.Greater(t, int(top), (1<<bits)*8/10, "metal is bright")
	}
}

// Photon noise has the variance that the energies' Poisson statistics give.
func TestNoise(t *testing.T) {
	long(t)
	s := Default()
	s.Width, s.Height, s.Scatter, s.Dose = 20000, 8, -1, 50000
	e := &exposure{s: s, view: newView(s), out: s.bounds()}
	e.tissue = newTissue(e.view)
	e.scatter = scatterMap{cell: 1e5, w: 2, h: 2, v: make([]float64, 4)}
	b := beam{photons: [bins]float32{0.002, 0.004, 0.004, 0.003}}
	b.sums()
	var n, sum, sum2 float64
	for y := range 8 {
		row, variance := make([]float32, s.Width), make([]float32, s.Width)
		for x := range row {
			row[x], variance[x] = b.signal, b.variance
		}
		e.depth(y, row, variance)
		for _, d := range row {
			v := e.tissue.usual * math.Exp(-float64(d))
			n, sum, sum2 = n+1, sum+v, sum2+v*v
		}
	}
	mean := sum / n
	photons := s.Dose * s.Spacing * s.Spacing / e.tissue.usual
	var want float64
	for i, p := range b.photons {
		w := energies[i] / meanEnergy
		want += w * w * float64(p) / photons
	}
	sd := math.Sqrt(want / n)
	assert.InDelta(t, float64(b.signal), mean, 4*sd)
	assert.InEpsilon(t, want, sum2/n-mean*mean, 0.02) // 160 000 draws: standard error 0.4 %
}

func TestPoisson(t *testing.T) {
	for _, mean := range []float64{0.1, 1, 7, 30} {
		const n = 200000
		var sum, sum2 float64
		for i := range n {
			k := poisson(mean, (float64(mix(uint64(i))>>11)+0.5)/(1<<53))
			sum, sum2 = sum+k, sum2+k*k
		}
		m := sum / n
		assert.InDelta(t, mean, m, 4*math.Sqrt(mean/n))
		assert.InEpsilon(t, mean, sum2/n-m*m, 0.03)
	}
}

func TestNothingIsNaN(t *testing.T) {
	long(t)
	for name, s := range cast() {
		t.Run(name, func(t *testing.T) {
			s.Width, s.Height, s.Spacing = 288, 240, 1.48
			for i, h := range s.Hips {
				h.Inclination, h.Anteversion = 0, 0 // the rim edge-on
				if i == 0 && name == "both" {
					h.Inclination, h.Anteversion = 90, -60
				}
				s.Hips[i] = h
			}
			v := newView(s)
			e := &exposure{s: s, view: v, tissue: newTissue(v), out: s.bounds()}
			for _, h := range s.Hips {
				e.implants = append(e.implants, e.seen(newImplant(h)))
			}
			e.expose()
			for i := range e.signal {
				require.False(t, math.IsNaN(float64(e.signal[i])) || e.signal[i] < 0, "signal %d is %g", i, e.signal[i])
				require.False(t, math.IsNaN(float64(e.variance[i])), "variance %d", i)
			}
			for i, v := range e.scatter.v {
				require.False(t, math.IsNaN(v) || v < 0, "scatter %d is %g", i, v)
			}
		})
	}
}

func TestBoneIsBright(t *testing.T) {
	long(t)
	s := Plain(measure.Right)
	s.Width, s.Height, s.Spacing = 900, 750, 0.47
	img, err := Render(s)
	require.NoError(t, err)
	v := newView(s)
	level := func(x, y float64) (sum float64) {
		p := v.project(vec{x, y, 0})
		for j := -3; j <= 3; j++ {
			for i := -3; i <= 3; i++ {
				sum += float64(img.Gray16At(int(p.X)+i, int(p.Y)+j).Y) / 49
			}
		}
		return sum
	}
	head, foramen, ischium, thighs := level(-92, 0), level(50, 40), level(82, 55), level(0, 150)
	assert.Greater(t, head, 1.3*ischium, "metal against bone")
	assert.Greater(t, ischium, 1.1*foramen, "bone against soft tissue")
	assert.Greater(t, foramen, 2*thighs, "soft tissue against air")
}

func TestHardFilm(t *testing.T) {
	long(t)
	s := Hard(Plain(measure.Right))
	s.Width, s.Height, s.Spacing = 900, 750, 0.47
	img, err := Render(s)
	require.NoError(t, err)
	truth, err := Truths(s)
	require.NoError(t, err)
	level := func(x, y float64) uint16 { return img.Gray16At(int(x), int(y)).Y }
	top := uint16(1<<s.Bits - 1)
	assert.Equal(t, top, level(truth[0].Head.X, truth[0].Head.Y), "metal is clipped")
	assert.Equal(t, level(5, 5), level(895, 745), "border")
	assert.Greater(t, level(5, 5), top*9/10)
	stroke := s.markerStrokes()[0]
	x, y, above := stroke[0]/s.Spacing, (stroke[1]+stroke[3])/2/s.Spacing, stroke[1]/s.Spacing-9
	assert.Greater(t, float64(level(x, y)), 1.3*float64(level(x, above)), "marker")
	// An obese patient's film is noisier and flatter than a plain one.
	plain := s
	plain.BodyMM, plain.Scatter, plain.Dose, plain.Enhance = 0, 0, 0, 0
	img2, err := Render(plain)
	require.NoError(t, err)
	assert.Greater(t, roughness(img, 430, 300), 2*roughness(img2, 430, 300))
}

// roughness is the mean squared difference of neighbours near a pixel.
func roughness(img *image.Gray16, x0, y0 int) (sum float64) {
	for y := y0; y < y0+30; y++ {
		for x := x0; x < x0+30; x++ {
			d := float64(img.Gray16At(x, y).Y) - float64(img.Gray16At(x+1, y).Y)
			sum += d * d / 900
		}
	}
	return sum
}

func TestPatientsDiffer(t *testing.T) {
	long(t)
	s := small(Plain(measure.Right))
	s.Dose = -1
	a, err := Render(s)
	require.NoError(t, err)
	s.Patient = 5
	b, err := Render(s)
	require.NoError(t, err)
	assert.NotEqual(t, a.Pix, b.Pix)
	truthA, err := Truths(small(Plain(measure.Right)))
	require.NoError(t, err)
	truthB, err := Truths(s)
	require.NoError(t, err)
	assert.Equal(t, truthA, truthB, "the implant is where it was")
}

func TestInvalidScenes(t *testing.T) {
	for _, c := range []struct {
		name, field string
		spoil       func(*Scene)
	}{
		{"empty", "Width", func(s *Scene) { *s = Scene{} }},
		{"no pixels", "Height", func(s *Scene) { s.Height = 0 }},
		{"spacing is not a number", "Spacing", func(s *Scene) { s.Spacing = math.NaN() }},
		{"hips behind the film", "SourceImage", func(s *Scene) { s.SourceImage = 900 }},
		{"eight bits", "Bits", func(s *Scene) { s.Bits = 8 }},
		{"all scatter", "Scatter", func(s *Scene) { s.Scatter = 1 }},
		{"window off the film", "Window", func(s *Scene) { s.Window = image.Rect(-1, 0, 10, 10) }},
		{"no side", "Hips[0].Side", func(s *Scene) { s.Hips[0].Side = 0 }},
		{"two right hips", "Hips[1].Side", func(s *Scene) { s.Hips = append(s.Hips, s.Hips[0]) }},
		{"no cup", "Hips[0].Cup", func(s *Scene) { s.Hips[0].Cup = "" }},
		{"head through the shell", "Hips[0].Superior", func(s *Scene) { s.Hips[0].Superior = 10 }},
		{"offset is not a number", "Hips[0].Superior", func(s *Scene) { s.Hips[0].Medial = math.NaN() }},
		{"head larger than the shell", "Hips[0].Superior", func(s *Scene) { s.Hips[0].HeadMM = 56 }},
		{"wooden head", "Hips[0].HeadMaterial", func(s *Scene) { s.Hips[0].HeadMaterial = "wood" }},
		{"titanium head", "Hips[0].HeadMaterial", func(s *Scene) { s.Hips[0].HeadMaterial = Titanium }},
		{"four screws", "Hips[0].Screws", func(s *Scene) { s.Hips[0].Screws = 4 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := Plain(measure.Right)
			c.spoil(&s)
			_, err := Render(s)
			var fault *SceneError
			require.True(t, errors.As(err, &fault), "%v", err)
			assert.Equal(t, c.field, fault.Field)
			assert.Contains(t, err.Error(), "phantom: "+c.field+": ")
			_, err = Truths(s)
			assert.True(t, errors.As(err, &fault))
		})
	}
}

func BenchmarkRender(b *testing.B) {
	s := Default()
	s.Hips = []Hip{DefaultHip(measure.Right), DefaultHip(measure.Left)}
	for b.Loop() {
		if _, err := Render(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRenderWindow(b *testing.B) {
	s := Plain(measure.Right).Around(measure.Right, 700*0.148)
	for b.Loop() {
		if _, err := Render(s); err != nil {
			b.Fatal(err)
		}
	}
}
