package main

import (
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// Expected ranges by the relation of Clopper and Pearson (1934) to the F
// distribution, as R 4 binom.test(k, n) prints them (from memory).
func TestBinomialRange(t *testing.T) {
	for _, c := range []struct{ k, n, low, high float64 }{
		{9, 10, 0.5549839, 0.9974714},
		{0, 10, 0, 0.3084971},
		{10, 10, 0.6915029, 1},
		{5, 10, 0.1870860, 0.8129140},
	} {
		low, high := binomialRange(c.k, c.n)
		assert.InDelta(t, c.low, low, 1e-6)
		assert.InDelta(t, c.high, high, 1e-6)
	}
}

func TestCoverage(t *testing.T) {
	var even, clumped inside
	for i := range 400 {
		err := 0.0
		if i%20 == 0 {
			err = 3
		}
		even.add(i/4, err, 1)
		err = 0
		if i/4%20 == 0 { // all four of a hip
			err = 3
		}
		clumped.add(i/4, err, 1)
	}
	e, c := even.share("x"), clumped.share("x")
	assert.Equal(t, 0.95, e.Held)
	assert.Equal(t, 0.95, c.Held)
	assert.False(t, e.Off)
	assert.Less(t, c.Low, e.Low, "four that fail together tell less than four that fail apart")

	var few inside
	for i := range 400 {
		few.add(i, float64(i%10)/4, 1) // 80 % within 1.96
	}
	assert.True(t, few.share("x").Off)
	var all inside
	for i := range 400 {
		all.add(i, 0, 1)
	}
	assert.True(t, all.share("x").Off, "too often is off too")
}

func TestOpenFolder(t *testing.T) {
	dir := t.TempDir()
	write := func(hip, text string) {
		require.NoError(t, os.MkdirAll(filepath.Join(dir, hip), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, hip, "truth.json"), []byte(text), 0o644))
	}
	write("a", `{"side": "left", "head_mm": 36, "cup": "shell", "grade": 2, "films": [
		{"film": "later.png", "date": "2012-01-01"},
		{"film": "first.png", "date": "2007-01-22", "head": [10, 20, 100], "cup": [9, 9, 9], "cup_arc": [12, 19, 150],
		 "mm_per_px": 0.18, "offset": [0.3, 0.4], "roll_deg": 90, "factors": {"tone": "film"}}]}`)
	write("b", `{"films": []}`)
	f, err := os.Create(filepath.Join(dir, "b", "grey.png"))
	require.NoError(t, err)
	img := image.NewGray16(image.Rect(0, 0, 80, 80))
	img.SetGray16(40, 40, color.Gray16{Y: 9000})
	require.NoError(t, png.Encode(f, img))
	require.NoError(t, f.Close())

	all, err := openFolder(dir)
	require.NoError(t, err)
	require.Len(t, all, 2)
	first, later := all[0].films[0], all[0].films[1]
	assert.Equal(t, "first.png", first.name, "in order of date")
	assert.Nil(t, later.truth)
	require.NotNil(t, first.truth)
	assert.Equal(t, measure.Circle{X: 12, Y: 19, R: 150}, first.truth.cup)
	// A left hip: lateral is +x and superior -y; a quarter turn clockwise takes +x
	// to +y and -y to +x.
	assert.InDelta(t, -0.3, first.truth.offset.Superior, 1e-12)
	assert.InDelta(t, -0.4, first.truth.offset.Medial, 1e-12)
	assert.Contains(t, first.factors, factor{name: "tone", level: "film"})
	assert.Contains(t, first.factors, factor{name: "grade", value: 2})
	assert.Contains(t, first.factors, factor{name: "cup", level: "shell"})

	p, err := all[1].films[0].load()
	require.NoError(t, err)
	assert.Equal(t, 80, p.img.Rect.Dx())

	write("a", `{"side": "left", "head_mm": 36, "cup": "shell", "films": [{"film": "x", "head": [1, 2], "offset": [0, 0]}]}`)
	_, err = openFolder(dir)
	assert.ErrorContains(t, err, "three numbers")
	_, err = openFolder(t.TempDir())
	assert.ErrorContains(t, err, "no folder with a truth.json")
}

// A verdict is right, wrong, silent, or of another kind by the limits stated.
func TestCompare(t *testing.T) {
	truth := truth{side: measure.Right, kind: measure.Shell, mm: 0.1,
		head: measure.Circle{X: 100, Y: 100, R: 140}, cup: measure.Circle{X: 100, Y: 100, R: 260}}
	hip := func(dx float64, kind measure.CupKind, warned ...string) outlined {
		h := outlined{side: measure.Right, kind: kind, warned: warned}
		h.head.Circle, h.cup.Circle = truth.head, truth.cup
		h.head.X += dx
		h.offset.Medial = dx * truth.mm
		return h
	}
	for _, c := range []struct {
		name                     string
		found                    outlined
		wrong, silent, otherKind bool
	}{
		{"right", hip(1.5, measure.Shell), false, false, false},
		{"silent", hip(2.5, measure.Shell), false, true, false},
		{"silent, side warned of", hip(2.5, measure.Shell, measure.SideUnproven), false, true, false},
		{"warned of", hip(2.5, measure.Shell, measure.RingPartial), false, false, false},
		{"wrong", hip(11, measure.Shell), true, true, false},
		{"other kind", hip(0, measure.Wire), true, false, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			var v verdict
			v.compare(truth, []outlined{c.found})
			assert.Equal(t, c.wrong, v.wrong)
			assert.Equal(t, c.silent, v.silent)
			assert.Equal(t, c.otherKind, v.otherKind)
		})
	}
	// A whole film on which two hips are to be found.
	truth.count, truth.others = 2, []measure.Circle{{X: 1400, Y: 100, R: 140}}
	other := hip(0, measure.Shell)
	other.head.X, other.cup.X = 1402, 1401
	var one, both, third verdict
	one.compare(truth, []outlined{hip(0, measure.Shell)})
	both.compare(truth, []outlined{hip(0, measure.Shell), other})
	assert.True(t, one.missed)
	assert.False(t, one.wrong || both.missed || both.wrong)
	other.head.X = 700
	third.compare(truth, []outlined{hip(0, measure.Shell), other})
	assert.True(t, third.wrong, "a hip where none is")
	var away verdict
	other.head.X = 1400
	away.compare(truth, []outlined{other})
	assert.False(t, away.measured, "the other hip alone is none of this one")
}

// A disc shows in all directions in which it stands out of the noise, and not
// where nothing is or where there is only a slope.
func TestShows(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	draw := func(level func(x, y float64) float64) *image.Gray16 {
		img := image.NewGray16(image.Rect(0, 0, 300, 300))
		for y := range 300 {
			for x := range 300 {
				v := 20000 + 100*rng.NormFloat64() + level(float64(x)+0.5-150, float64(y)+0.5-150)
				img.SetGray16(x, y, color.Gray16{Y: uint16(v)})
			}
		}
		return img
	}
	c := measure.Circle{X: 150, Y: 150, R: 90}
	inside := func(x, y float64) bool { return math.Hypot(x, y) < c.R }
	whole := shows(draw(func(x, y float64) float64 {
		if inside(x, y) {
			return 3000
		}
		return 0
	}), c, 0.15, nil)
	half := shows(draw(func(x, y float64) float64 {
		if inside(x, y) && y > 0 {
			return 3000
		}
		return 0
	}), c, 0.15, nil)
	slope := shows(draw(func(x, y float64) float64 { return 30 * (x + y) }), c, 0.15, nil)
	assert.Greater(t, whole, 0.98)
	assert.InDelta(t, 0.5, half, 0.08)
	assert.Less(t, slope, 0.05)

	e := measure.Ellipse{X: 150, Y: 150, A: 90, B: 30, Angle: 40}
	sin, cos := math.Sincos(40 * math.Pi / 180)
	ring := draw(func(x, y float64) float64 {
		u, v := (x*cos+y*sin)/e.A, (y*cos-x*sin)/e.B
		if q := math.Hypot(u, v); math.Abs(q-1)*math.Hypot(u*e.A, v*e.B) < 3 {
			return 4000
		}
		return 0
	})
	assert.Greater(t, ringShows(ring, e, 0.15), 0.9)
	e.X += 25
	assert.Less(t, ringShows(ring, e, 0.15), 0.3)
}

// Of two levels the one that all bad films have is told.
func TestTelling(t *testing.T) {
	var all []verdict
	for i := range 60 {
		f := &film{truth: &truth{}, factors: []factor{{name: "tone", level: []string{"a", "b", "c"}[i%3]}, {name: "n", value: float64(i)}}}
		all = append(all, verdict{film: f, measured: i%3 != 1 || i%2 == 0})
	}
	got := telling(all)
	require.NotEmpty(t, got)
	assert.Equal(t, "b", got[0].Level)
	assert.Equal(t, 10, got[0].Bad)
	assert.Equal(t, 20, got[0].Films)
	for _, x := range got {
		assert.Equal(t, "tone", x.Factor)
	}
	assert.Len(t, worstDecile(all), 6)
	assert.Empty(t, telling(nil))
}

// The films of a drawn hip state the truth of package phantom.
func TestOwnFilms(t *testing.T) {
	c := config{hips: 8, blank: 11, seed: 3}
	all, err := ownFilms(c)
	require.NoError(t, err)
	require.Len(t, all, 8+11)
	kinds := map[measure.CupKind]int{}
	for _, s := range all[:8] {
		require.Len(t, s.films, 3)
		for _, f := range s.films {
			kinds[f.truth.kind]++
			dx, dy := f.truth.head.X-f.truth.cup.X, f.truth.head.Y-f.truth.cup.Y
			assert.InDelta(t, math.Hypot(dx, dy)*f.truth.mm, math.Hypot(f.truth.offset.Superior, f.truth.offset.Medial), 1e-9)
			assert.NotEmpty(t, f.factors)
		}
	}
	assert.Len(t, kinds, 2)
	for _, s := range all[8:] {
		assert.Len(t, s.films, len(emptySizes)*3)
		assert.Nil(t, s.films[0].truth)
	}
	c.class = "nothing"
	_, err = ownFilms(c)
	assert.Error(t, err)
}
