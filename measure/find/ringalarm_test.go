package find

import (
	"math"
	"math/rand/v2"
	"testing"

	"linerwatch/measure"
	"linerwatch/measure/phantom"

	"github.com/stretchr/testify/require"
)

// TestLearnRings prints how likely a ring about a head is by chance: about a ball of
// metal on films of native hips, and about the head in a shell, whose rim comes near
// to one but ends at its dome.
func TestLearnRings(t *testing.T) {
	if *learn == 0 {
		t.Skip("learns only with -learn")
	}
	var natives, shells []float64
	rims := make([]float64, *learn)
	for i := range *learn {
		s, c := native(t, i)
		paint(s.img, c, rand.New(rand.NewPCG(72, uint64(i))))
		sure, _ := ringAbout(s, c)
		natives = append(natives, sure)
		s, c, dome := shelled(t, i)
		sure, r := ringAbout(s, c)
		if dome.R-r < mantle*2*c.R/s.opt.HeadMM {
			rims[i], sure = sure, 0
		}
		shells = append(shells, sure)
	}
	reportAbove(t, "ring about a ball", natives)
	reportAbove(t, "ring in a shell", shells)
	reportAbove(t, "rim of a shell", rims)
}

// reportAbove fits an exponential tail to what is above the least that a search follows.
func reportAbove(t *testing.T, what string, v []float64) {
	least := (ringMatch{share: seedShare}).sure()
	n, sum := 0.0, 0.0
	for _, x := range v {
		if x > least {
			n, sum = n+1, sum+x-least
		}
	}
	t.Logf("%s: above %.2f on %.0f of %d films; false alarms exp(-(s - %.2f)/%.2f)", what, least, n, len(v), least+sum/n*math.Log(n/float64(len(v))), sum/n)
}

// ringAbout returns what speaks for a ring about a head, and its long half-axis, px.
func ringAbout(s *search, c measure.Circle) (sure, r float64) {
	q := ringPast(s.img, c, s.opt.HeadMM/2/c.R)
	m, ok := q.newMap(s.img)
	if !ok {
		return 0, 0
	}
	k, _ := q.fit(m, q.seek(m))
	return k.sure(), k.theta[2] * m.k
}

// shelled returns a film of a head in a shell, the head, and the shell's dome.
func shelled(t testing.TB, i int) (s *search, head, dome measure.Circle) {
	rng := rand.New(rand.NewPCG(74, uint64(i)))
	f := phantom.Default()
	if i%3 == 2 {
		f = phantom.Hard(f)
	}
	f.Patient, f.Seed = rng.Uint64(), rng.Uint64()
	f.SourceHip = f.SourceImage / (1.08 + 0.2*rng.Float64())
	h := phantom.DefaultHip(measure.Right)
	h.HeadMM = 22 + 2*float64(rng.IntN(8))
	h.ShellMM = h.HeadMM + 16 + 12*rng.Float64()
	h.Inclination, h.Anteversion = 30+30*rng.Float64(), 30*rng.Float64()
	h.Holes, h.Screws = rng.IntN(2) == 0, rng.IntN(3)
	f.Hips = []phantom.Hip{h}
	f = f.Around(measure.Right, 150)
	img, err := phantom.Render(f)
	require.NoError(t, err)
	truths, err := phantom.Truths(f)
	require.NoError(t, err)
	s, err = newSearch(img, Options{HeadMM: h.HeadMM, Spacing: f.Spacing})
	require.NoError(t, err)
	return s, truths[0].Head, truths[0].Cup
}

// BenchmarkRingSearch times the search about a head where there is a ring and where
// there is none.
func BenchmarkRingSearch(b *testing.B) {
	shell, head, _ := shelled(b, 0)
	f := phantom.Default()
	h := phantom.DefaultHip(measure.Right)
	h.Cup, h.HeadMM, h.ShellMM, h.Anteversion = measure.Wire, 28, 50, 14
	f.Hips = []phantom.Hip{h}
	f = f.Around(measure.Right, 150)
	img, err := phantom.Render(f)
	require.NoError(b, err)
	truths, err := phantom.Truths(f)
	require.NoError(b, err)
	wire, err := newSearch(img, Options{HeadMM: 28, Spacing: f.Spacing})
	require.NoError(b, err)
	for _, c := range []struct {
		name string
		s    *search
		head measure.Circle
		want bool
	}{{"ring", wire, truths[0].Head, true}, {"shell", shell, head, false}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, _, ok := ringAround(c.head, c.s.opt.HeadMM/2/c.head.R).run(c.s.img); ok != c.want {
					b.Fatal(ok)
				}
			}
		})
	}
}
