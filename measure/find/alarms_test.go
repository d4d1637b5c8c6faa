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
	report(t, "cup about a ball", cups)
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
	report(t, "ball", heads)
	report(t, "pair", pairs)
	var inside []float64
	for i := range *learn {
		inside = append(inside, otherBalls(t, i)...)
	}
	report(t, "ball in a shell", inside)
}

// otherBalls returns what speaks for balls of other sizes than the head in a shell.
func otherBalls(t *testing.T, i int) (sure []float64) {
	rng := rand.New(rand.NewPCG(73, uint64(i)))
	s := phantom.Default()
	if i%3 == 2 {
		s = phantom.Hard(s)
	}
	s.Patient, s.Seed = rng.Uint64(), rng.Uint64()
	s.SourceHip = s.SourceImage / (1.08 + 0.2*rng.Float64())
	h := phantom.DefaultHip(measure.Right)
	h.HeadMM = 22 + 2*float64(rng.IntN(8))
	h.HeadMaterial = []phantom.Material{phantom.CoCr, phantom.Alumina}[i%2]
	h.ShellMaterial = []phantom.Material{phantom.Titanium, phantom.CoCr}[i/2%2]
	h.ShellMM = h.HeadMM + 16 + 12*rng.Float64()
	h.Inclination, h.Anteversion = 30+30*rng.Float64(), 30*rng.Float64()
	h.Holes, h.Screws = rng.IntN(2) == 0, rng.IntN(3)
	s.Hips = []phantom.Hip{h}
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	truth := truths[0]
	search, err := newSearch(img, Options{HeadMM: h.HeadMM, Spacing: s.Spacing})
	require.NoError(t, err)
	b, _ := search.inside(truth.Cup)
	if v, on := search.around(truth.Head); on {
		at := weigh(&v, v.cells(truth.Head))
		t.Logf("film %d, %s in %s: head edge %.0f body %.0f, found %.0f, %.2f mm off", i, h.HeadMaterial, h.ShellMaterial, at.edge, at.body, b.sure(), b.Center().Distance(truth.Head.Center())*h.HeadMM/2/truth.Head.R)
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

// report fits an exponential tail to the upper quarter.
func report(t *testing.T, what string, v []float64) {
	slices.Sort(v)
	n := len(v)
	from := v[n*3/4]
	var mean float64
	for _, x := range v[n*3/4:] {
		mean += (x - from) / float64(n-n*3/4)
	}
	t.Logf("%s: n %d, median %.1f, most %.1f; false alarms exp(-(s - %.1f)/%.1f)", what, n, v[n/2], v[n-1], from-mean*math.Log(4), mean)
}
