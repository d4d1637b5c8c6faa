package find

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
	"linerwatch/measure/phantom/chance"
)

// Films to learn from and to test on.
const (
	learnSeed          = 301
	testSeed, testHips = 20261811, 20
)

// missed is an outline's departure from the truth, px.
type missed struct {
	hip, film int
	plain     bool // a clear film of metal in metal
	kind      edgeKind
	d         [3]float64 // of X, Y, R
	measure.CircleFit
}

// departed draws hips, searches their films, and returns how far the outlines are off,
// but for cups of wire and what is no outline of the hip at all.
func departed(t *testing.T, styles chance.Options, seed uint64, hips int) []missed {
	all := make([][]missed, hips)
	var wg sync.WaitGroup
	room := make(chan struct{}, 2)
	for n := range hips {
		wg.Go(func() {
			room <- struct{}{}
			defer func() { <-room }()
			h := chance.Draw(seed, n, styles)
			for i, f := range h.Films {
				for _, m := range departedOn(t, h, f) {
					m.hip, m.film, m.plain = n, i, h.Plain
					all[n] = append(all[n], m)
				}
			}
		})
	}
	wg.Wait()
	return slices.Concat(all...)
}

func departedOn(t *testing.T, h chance.Hip, f chance.Film) (all []missed) {
	img, err := f.Develop()
	if !assert.NoError(t, err) {
		return nil
	}
	truths, err := phantom.Truths(f.Scene)
	if !assert.NoError(t, err) {
		return nil
	}
	truth, implant := truths[0], f.Scene.Hips[0]
	mm := h.HeadMM / 2 / truth.Head.R
	found, err := Hips(context.Background(), img, Options{HeadMM: h.HeadMM, Spacing: f.Scene.Spacing})
	var refused *measure.Refusal
	if errors.As(err, &refused) || !assert.NoError(t, err) {
		return nil
	}
	add := func(o measure.Outline, c measure.Circle, kind edgeKind) {
		if o.Center().Distance(c.Center())*mm < 1 {
			all = append(all, missed{kind: kind, d: [3]float64{o.X - c.X, o.Y - c.Y, o.R - c.R}, CircleFit: o.CircleFit})
		}
	}
	for _, o := range found {
		kind := metalEdge
		if implant.HeadMaterial == phantom.Alumina || implant.HeadMaterial == phantom.Zirconia {
			kind = softEdge
		}
		add(o.Head, truth.Head, kind)
		if o.CupKind == measure.Shell && implant.Cup == measure.Shell {
			add(o.Cup, truth.Cup, shellEdge)
		}
	}
	return all
}

// TestDoubt asks the stated errors of outlines to hold what they say, neither too
// little nor too much. With -learn it writes doubt.json first:
//
//	go test ./measure/find -run TestDoubt -learn 120 -timeout 1h
func TestDoubt(t *testing.T) {
	if *learn > 0 {
		learnDoubt(t)
	} else if testing.Short() {
		t.Skip("draws films")
	}
	var z [2][]float64 // of plain films and of others
	for _, m := range departed(t, chance.Options{}, testSeed, testHips) {
		for i := range 2 {
			class := 1
			if m.plain {
				class = 0
			}
			z[class] = append(z[class], math.Abs(m.d[i])/math.Sqrt(m.Cov[i][i]))
		}
	}
	for class, name := range []string{"plain films", "others"} {
		require.Greater(t, len(z[class]), 20, name)
		t.Logf("%s: %d centres along an axis, held %.3f", name, len(z[class]), share(z[class], 1))
	}
	// So few errors, some of which the films of a hip share, tell no more.
	assert.InDelta(t, 0.95, (share(z[0], 1)+share(z[1], 1))/2, 0.07)
	assert.Less(t, share(z[1], 0.5), 0.9, "half of what is stated should not be enough")
}

// allRadius makes Shared of the radius that many blurs, to be read off.
const allRadius = 1e4

// learnDoubt learns from drawn films and writes doubt.json.
func learnDoubt(t *testing.T) {
	forget()
	kinds := learned(t, departed(t, chance.Options{}, learnSeed, *learn))
	data, err := json.MarshalIndent(kinds, "", "  ")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("doubt.json", append(data, '\n'), 0o644))
	maps.Copy(doubts(), kinds)
}

// TestLearnStyles prints how often the errors learned without a style of processing hold
// on films that all have it:
//
//	go test ./measure/find -run LearnStyles -learn 24 -timeout 1h -v
func TestLearnStyles(t *testing.T) {
	if *learn == 0 {
		t.Skip("learns only with -learn")
	}
	before := maps.Clone(doubts())
	defer maps.Copy(doubts(), before)
	forget()
	for _, style := range chance.Styles() {
		kinds := learned(t, departed(t, chance.Options{Without: []chance.Style{style}}, learnSeed, *learn))
		z := errorsOf(departed(t, chance.Options{Only: []chance.Style{style}}, testSeed, (*learn+2)/3), kinds)
		t.Logf("%s: held %.3f of %d on plain films, %.3f of %d on others", style, share(z[0], 1), len(z[0]), share(z[1], 1), len(z[1]))
	}
}

// forget makes the covariance of a centre what its edges tell, plus Shared.
func forget() {
	kinds := doubts()
	for k := range kinds {
		kinds[k] = leftBy{Shared: 1, Inflation: 1, Radius: allRadius}
	}
}

// learned finds what each kind of edge leaves: it makes the errors of films likeliest,
// taken to be of a Student's t of few degrees of freedom, since a few outlines follow
// something else; then scales all alike so that of all centres, offsets, and movements
// between films 95 of 100 are within 1.96 of what is stated: more on plain films, and
// fewer on others, whose tails are longer than what their edges tell of them.
func learned(t *testing.T, all []missed) map[edgeKind]leftBy {
	kinds := map[edgeKind]leftBy{}
	for kind := range doubts() {
		var some []missed
		for _, m := range all {
			if m.kind == kind {
				some = append(some, m)
			}
		}
		require.Greater(t, len(some), 10, kind)
		kinds[kind] = likeliest(some)
		t.Logf("%s: %d outlines, %+v", kind, len(some), kinds[kind])
	}
	z := errorsOf(all, kinds)
	scale := 0.5
	for ; share(slices.Concat(z[0], z[1]), scale) < 0.95; scale += 0.01 {
	}
	t.Logf("scaled by %.2f: held %.3f of %d on plain films, %.3f of %d on others", scale, share(z[0], scale), len(z[0]), share(z[1], scale), len(z[1]))
	for kind, d := range kinds {
		kinds[kind] = leftBy{rounded(scale * d.Shared), rounded(scale * d.Alone), rounded(d.Radius), rounded(scale * d.Inflation)}
	}
	return kinds
}

// errorsOf returns the errors of centres, offsets, and movements between films over what
// is stated, of plain films and of others.
func errorsOf(all []missed, kinds map[edgeKind]leftBy) (z [2][]float64) {
	class := func(m missed) *[]float64 {
		if m.plain {
			return &z[0]
		}
		return &z[1]
	}
	for _, m := range all {
		c := class(m)
		for i := range 2 {
			*c = append(*c, math.Abs(m.d[i])/math.Sqrt(kinds[m.kind].variance(m, i)))
		}
	}
	for _, o := range offsets(all, kinds) {
		c := class(o.head)
		*c = append(*c, o.alone()...)
		if o.since != nil {
			*c = append(*c, o.moved()...)
		}
	}
	return z
}

// likeliest descends along each of the logarithms of Inflation, Shared and Alone.
func likeliest(all []missed) leftBy {
	p := [3]float64{0, math.Log(0.05), math.Log(0.05)}
	best := unlikely(all, p)
	for step := 1.0; step > 0.01; step /= 2 {
		for moved := true; moved; {
			moved = false
			for i := range p {
				for _, d := range [2]float64{-step, step} {
					q := p
					q[i] = max(-7, q[i]+d)
					if l := unlikely(all, q); l < best {
						best, p, moved = l, q, true
					}
				}
			}
		}
	}
	d := leftBy{Inflation: math.Exp(p[0]), Shared: math.Exp(p[1]), Alone: math.Exp(p[2])}
	var radius []float64
	for _, m := range all { // what the edges tell of a radius is little beside what their model leaves
		radius = append(radius, allRadius*math.Abs(m.d[2])/math.Sqrt(m.Shared[2][2]))
	}
	slices.Sort(radius)
	d.Radius = radius[len(radius)*95/100] / 1.96
	return d
}

func rounded(v float64) float64 { return math.Round(v*1000) / 1000 }

// offset is a film's head and shell, and those of the hip's first film.
type offset struct {
	kinds     map[edgeKind]leftBy
	head, cup missed
	since     *offset
}

func offsets(all []missed, kinds map[edgeKind]leftBy) (out []*offset) {
	for i, m := range all[1:] {
		head := all[i]
		if m.kind != shellEdge || head.hip != m.hip || head.film != m.film {
			continue
		}
		o := &offset{kinds: kinds, head: head, cup: m}
		for _, first := range out {
			if first.head.hip == m.hip && first.since == nil {
				o.since = first
			}
		}
		out = append(out, o)
	}
	return out
}

// alone returns the errors of an offset over what is stated.
func (o *offset) alone() (z []float64) {
	for i := range 2 {
		v := o.kinds[o.head.kind].variance(o.head, i) + o.kinds[shellEdge].variance(o.cup, i)
		z = append(z, math.Abs(o.head.d[i]-o.cup.d[i])/math.Sqrt(v))
	}
	return z
}

// moved returns the errors of the movement since the first film over what is stated, px
// of films alike.
func (o *offset) moved() (z []float64) {
	for i := range 2 {
		var v, e float64
		for _, p := range [2][2]missed{{o.head, o.since.head}, {o.cup, o.since.cup}} {
			d := o.kinds[p[0].kind]
			v += d.variance(p[0], i) + d.variance(p[1], i) - 2*d.Shared*d.Shared*math.Sqrt(p[0].Shared[i][i]*p[1].Shared[i][i])
		}
		e = o.head.d[i] - o.cup.d[i] - o.since.head.d[i] + o.since.cup.d[i]
		z = append(z, math.Abs(e)/math.Sqrt(v))
	}
	return z
}

// variance returns that of X or Y.
func (d leftBy) variance(m missed, i int) float64 {
	return d.Inflation*d.Inflation*(m.Cov[i][i]-m.Shared[i][i]) + (d.Shared*d.Shared+d.Alone*d.Alone)*m.Shared[i][i]
}

// unlikely returns minus the logarithm of the likelihood of the errors of each hip's
// films, which have Shared in common.
func unlikely(all []missed, p [3]float64) (sum float64) {
	const freedom = 4
	d := leftBy{Inflation: math.Exp(p[0]), Shared: math.Exp(p[1]), Alone: math.Exp(p[2])}
	for len(all) > 0 {
		n := 1
		for n < len(all) && all[n].hip == all[0].hip {
			n++
		}
		for axis := range 2 {
			cov, e := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
			for i, a := range all[:n] {
				e.SetVec(i, a.d[axis])
				for j, b := range all[:i] {
					cov.SetSym(i, j, d.Shared*d.Shared*math.Sqrt(a.Shared[axis][axis]*b.Shared[axis][axis]))
				}
				cov.SetSym(i, i, d.variance(a, axis))
			}
			var chol mat.Cholesky
			var z mat.VecDense
			if !chol.Factorize(cov) || chol.SolveVecTo(&z, e) != nil {
				return math.Inf(1)
			}
			sum += chol.LogDet()/2 + (freedom+float64(n))/2*math.Log1p(mat.Dot(e, &z)/freedom)
		}
		all = all[n:]
	}
	return sum
}

// share returns the share of errors within 1.96 times the scale.
func share(z []float64, scale float64) (held float64) {
	for _, v := range z {
		if v < 1.96*scale {
			held += 1 / float64(len(z))
		}
	}
	return held
}
