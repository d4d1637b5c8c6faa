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
// metal on films of native hips, and about the head in a shell.
func TestLearnRings(t *testing.T) {
	if *learn == 0 {
		t.Skip("learns only with -learn")
	}
	var natives, shells []float64
	for i := range *learn {
		s, c := native(t, i)
		paint(s.img, c, rand.New(rand.NewPCG(72, uint64(i))))
		natives = append(natives, ringAbout(s, c))
		s, c = shelled(t, i)
		shells = append(shells, ringAbout(s, c))
		t.Logf("film %d: about a ball %.2f, in a shell %.2f", i, natives[i], shells[i])
	}
	reportAbove(t, "ring about a ball", natives)
	reportAbove(t, "ring in a shell", shells)
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

// ringAbout returns what speaks for a ring about a head.
func ringAbout(s *search, c measure.Circle) float64 {
	q := ringAround(c, s.opt.HeadMM/2/c.R)
	if neck, ok := brightest(s.img, measure.Outline{CircleFit: measure.CircleFit{Circle: c}}); ok {
		q.neck, q.oblique = neck, mostOblique
	}
	m, ok := q.newMap(s.img)
	if !ok {
		return 0
	}
	k, _ := q.fit(m, q.seek(m))
	return k.sure()
}

// shelled returns a film of a head in a shell, and the head.
func shelled(t *testing.T, i int) (*search, measure.Circle) {
	rng := rand.New(rand.NewPCG(74, uint64(i)))
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
	s.Hips = []phantom.Hip{h}
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	search, err := newSearch(img, Options{HeadMM: h.HeadMM, Spacing: s.Spacing})
	require.NoError(t, err)
	return search, truths[0].Head
}
