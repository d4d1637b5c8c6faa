package find

import (
	"context"
	"flag"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"linerwatch/measure"
	"linerwatch/measure/phantom"

	"github.com/stretchr/testify/require"
)

var learn = flag.Int("learn", 0, "films from which the constants of alarms.go are learned anew")

// native returns a film without a hip replacement, and where a ball of metal on it would
// be: over the femoral head on every other one.
func native(t *testing.T, i int) (*search, measure.Circle) {
	rng := rand.New(rand.NewPCG(71, uint64(i)))
	s := phantom.Default()
	s.Spacing = 0.12 + 0.08*rng.Float64()
	s.Width, s.Height = int(426/s.Spacing), int(355/s.Spacing)
	s.SourceHip = s.SourceImage / (1.08 + 0.2*rng.Float64())
	s.Patient, s.Seed = rng.Uint64(), rng.Uint64()
	s.BodyMM = 190 + 50*rng.Float64()
	s.BlurMM = 0.2 + 0.2*rng.Float64()
	if i%3 == 2 {
		s = phantom.Hard(s)
	}
	px := s.SourceImage / s.SourceHip / s.Spacing
	s = s.Around(measure.Right, 180)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	size := img.Bounds().Size()
	headMM := 22 + 2*float64(rng.IntN(12))
	c := measure.Circle{X: float64(size.X) / 2, Y: float64(size.Y) / 2, R: headMM / 2 * px}
	spread := 2.0
	if i%2 == 1 {
		spread = 30
	}
	c.X += spread * px * rng.NormFloat64()
	c.Y += spread * px * rng.NormFloat64()
	search, err := newSearch(img, Options{HeadMM: headMM, Spacing: s.Spacing})
	require.NoError(t, err)
	return search, c
}

func paint(img *image.Gray16, c measure.Circle, rng *rand.Rand) {
	var most uint16
	for i := 0; i < len(img.Pix); i += 2 {
		most = max(most, uint16(img.Pix[i])<<8|uint16(img.Pix[i+1]))
	}
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			d := c.Distance(measure.Point{X: float64(x) + 0.5, Y: float64(y) + 0.5})
			if w := 0.5 * math.Erfc(d/1.5); w > 0.001 {
				v := float64(img.Gray16At(x, y).Y)
				img.SetGray16(x, y, color.Gray16{Y: uint16(max(0, min(65535, v+w*(float64(most)+40*rng.NormFloat64()-v))))})
			}
		}
	}
}

// TestLearnAlarms prints how likely a cup about a ball, and a ball inside a shell, are
// by chance.
func TestLearnAlarms(t *testing.T) {
	if *learn == 0 {
		t.Skip("learns only with -learn")
	}
	var cups []float64
	for i := range *learn {
		s, c := native(t, i)
		paint(s.img, c, rand.New(rand.NewPCG(72, uint64(i))))
		v, ok := s.around(c)
		require.True(t, ok)
		b := weigh(&v, v.cells(c))
		most := 0.0
		for _, o := range s.bowls(b) {
			t.Logf("film %d, ball %.0f: ring %v, edge %.0f body %.0f, %.1f mm", i, b.sure(), o.ring != nil, o.edge, o.body, o.R*s.opt.HeadMM/2/c.R)
			most = max(most, o.sure())
		}
		cups = append(cups, most)
	}
	report(t, "cup about a ball", cups, upper(cups))
	var heads, pairs []float64
	for i := range *learn {
		s, _ := native(t, i)
		both, all, err := s.pairs(context.Background())
		require.NoError(t, err)
		if len(both) > 0 {
			pairs = append(pairs, both[0].sure())
			t.Logf("film %d, %.0f mm: pair %.0f", i, s.opt.HeadMM, both[0].sure())
		}
		if len(all) > 0 {
			heads = append(heads, all[0].sure())
			t.Logf("film %d, %.0f mm: ball edge %.0f body %.0f", i, s.opt.HeadMM, all[0].edge, all[0].body)
		}
	}
	report(t, "ball", heads, upper(heads))
	report(t, "pair", pairs, upper(pairs))
	var inside []float64
	for i := range *learn {
		inside = append(inside, otherBalls(t, i)...)
	}
	report(t, "ball in a shell", inside, upper(inside))
}

// otherBalls returns what speaks for balls of other sizes than the head in a shell.
func otherBalls(t *testing.T, i int) (sure []float64) {
	search, truth := shelled(t, 73, i, func(h *phantom.Hip) {
		h.HeadMaterial = []phantom.Material{phantom.CoCr, phantom.Alumina}[i%2]
		h.ShellMaterial = []phantom.Material{phantom.Titanium, phantom.CoCr}[i/2%2]
	})
	b, _ := search.inside(truth.Cup)
	if v, on := search.around(truth.Head); on {
		at := weigh(&v, v.cells(truth.Head))
		t.Logf("film %d: head edge %.0f body %.0f, found %.0f, %.2f mm off", i, at.edge, at.body, b.sure(), b.Center().Distance(truth.Head.Center())*search.opt.HeadMM/2/truth.Head.R)
	}
	for _, k := range []float64{0.65, 0.8, 1.25, 1.5} {
		search.inner, search.outer = 0.92*k*truth.Head.R, 1.08*k*truth.Head.R
		if b, _ := search.inside(truth.Cup); b.R > 0 {
			sure = append(sure, b.sure())
			t.Logf("film %d, %.2f of the size: ball edge %.0f body %.0f", i, k, b.edge, b.body)
		}
	}
	return sure
}

// shelled returns a film of a head in a shell, drawn by a seed and edited, and the truth.
func shelled(t testing.TB, seed uint64, i int, edit func(*phantom.Hip)) (*search, phantom.Truth) {
	rng := rand.New(rand.NewPCG(seed, uint64(i)))
	s := phantom.Default()
	if i%3 == 2 {
		s = phantom.Hard(s)
	}
	s.Patient, s.Seed = rng.Uint64(), rng.Uint64()
	s.SourceHip = s.SourceImage / (1.08 + 0.2*rng.Float64())
	h := phantom.DefaultHip(measure.Right)
	h.HeadMM = 22 + 2*float64(rng.IntN(8))
	h.ShellMM = h.HeadMM + 16 + 12*rng.Float64()
	h.Inclination, h.Anteversion = 30+30*rng.Float64(), 30*rng.Float64()
	h.Holes, h.Screws = rng.IntN(2) == 0, rng.IntN(3)
	edit(&h)
	return drawn(t, s, h)
}

// drawn returns the film of a hip, cut out around it, and the truth.
func drawn(t testing.TB, s phantom.Scene, h phantom.Hip) (*search, phantom.Truth) {
	s.Hips = []phantom.Hip{h}
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	search, err := newSearch(img, Options{HeadMM: h.HeadMM, Spacing: s.Spacing})
	require.NoError(t, err)
	return search, truths[0]
}

// upper is the value that a quarter of v exceeds.
func upper(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)*3/4]
}

// report fits an exponential tail to what is least or more.
func report(t *testing.T, what string, v []float64, least float64) {
	n, sum := 0.0, 0.0
	for _, x := range v {
		if x >= least {
			n, sum = n+1, sum+x-least
		}
	}
	t.Logf("%s: %.2f or more on %.0f of %d films, at most %.1f; false alarms exp(-(s - %.2f)/%.2f)", what, least, n, len(v), slices.Max(v), least+sum/n*math.Log(n/float64(len(v))), sum/n)
}
