package find

import (
	"math/rand/v2"
	"testing"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
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
		s, truth := shelled(t, 74, i, func(*phantom.Hip) {})
		sure, r := ringAbout(s, truth.Head)
		if truth.Cup.R-r < mantle*2*truth.Head.R/s.opt.HeadMM {
			rims[i], sure = sure, 0
		}
		shells = append(shells, sure)
	}
	least := (ringMatch{share: seedShare}).sure() // that a search follows
	report(t, "ring about a ball", natives, least)
	report(t, "ring in a shell", shells, least)
	report(t, "rim of a shell", rims, least)
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

// BenchmarkRingSearch times the search about a head where there is a ring and where
// there is none.
func BenchmarkRingSearch(b *testing.B) {
	shell, truth := shelled(b, 74, 0, func(*phantom.Hip) {})
	h := phantom.DefaultHip(measure.Right)
	h.Cup, h.HeadMM, h.ShellMM, h.Anteversion = measure.Wire, 28, 50, 14
	wire, ring := drawn(b, phantom.Default(), h)
	for _, c := range []struct {
		name string
		s    *search
		head measure.Circle
		want bool
	}{{"ring", wire, ring.Head, true}, {"shell", shell, truth.Head, false}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, _, ok := ringAround(c.head, c.s.opt.HeadMM/2/c.head.R).run(c.s.img); ok != c.want {
					b.Fatal(ok)
				}
			}
		})
	}
}
