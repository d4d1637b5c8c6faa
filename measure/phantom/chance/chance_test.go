package chance

import (
	"fmt"
	"image"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// drawn is a hundred hips.
func drawn(opt Options) (all []Hip) {
	for i := range 100 {
		all = append(all, Draw(3, i, opt))
	}
	return all
}

// of returns the level of a factor, or its number as text.
func of(f Film, name string) string {
	i := slices.IndexFunc(f.Factors, func(g Factor) bool { return g.Name == name })
	switch {
	case i < 0:
		return ""
	case f.Factors[i].Level != "":
		return f.Factors[i].Level
	}
	return fmt.Sprint(f.Factors[i].Value)
}

func TestDrawIsAFunctionOfSeedAndNumber(t *testing.T) {
	a, b := Draw(3, 7, Options{Whole: 5}), Draw(3, 7, Options{Whole: 5})
	assert.Equal(t, a, b)
	assert.NotEqual(t, a.Films[0].Scene.Patient, Draw(3, 8, Options{}).Films[0].Scene.Patient)
	assert.NotEqual(t, a.Films[0].Scene.Patient, Draw(4, 7, Options{}).Films[0].Scene.Patient)
}

// Every scene can be rendered, shows its cup whole, and keeps to the ranges.
func TestDrawnScenes(t *testing.T) {
	kinds := map[string]int{}
	for _, h := range drawn(Options{}) {
		kinds[h.Class()]++
		require.Len(t, h.Films, 3)
		for i, f := range h.Films {
			require.NoError(t, f.Recipe.Validate())
			truths, err := phantom.Truths(f.Scene)
			require.NoError(t, err, "hip %d film %d", h.Number, i)
			hip, size := f.Scene.Hips[0], f.Scene.Window.Size()
			assert.Equal(t, h.Films[0].Scene.Hips[0].Detail, hip.Detail, "films of a hip share the implant")
			for _, p := range []int{size.X, size.Y} {
				assert.True(t, p >= 700 && p <= 1100, "%d px", p) // less than 900 where the film ends
			}
			film, c := image.Rectangle{Max: size}, truths[0].Cup
			for _, corner := range []image.Point{{int(c.X - c.R), int(c.Y - c.R)}, {int(c.X + c.R), int(c.Y + c.R)}} {
				assert.True(t, corner.In(film), "hip %d film %d: cup %+v on %v", h.Number, i, c, size)
			}
			assert.LessOrEqual(t, math.Hypot(hip.Superior, hip.Medial), 6.2)
			assert.True(t, hip.HeadMM >= 22 && hip.HeadMM <= 44)
			assert.True(t, hip.Inclination >= 25 && hip.Inclination <= 65)
			assert.True(t, hip.Anteversion >= 0 && hip.Anteversion <= 35)
		}
	}
	for _, class := range []string{"plain shell", "plain wire", "wide shell", "wide wire"} {
		assert.Greater(t, kinds[class], 3, class)
	}
	assert.Greater(t, kinds["wide shell"], kinds["plain shell"])
}

// A style left out leaves everything else as it was.
func TestStylesAreDrawnApart(t *testing.T) {
	with, without := drawn(Options{}), drawn(Options{Without: []Style{Multiscale, "film"}})
	changed := 0
	for i, h := range with {
		for k, f := range h.Films {
			g := without[i].Films[k]
			assert.Equal(t, f.Scene, g.Scene)
			assert.Equal(t, "no", of(g, string(Multiscale)))
			assert.NotEqual(t, "film", of(g, "tone"))
			assert.Zero(t, g.Recipe.Multiscale)
			assert.Equal(t, f.Recipe.Unsharp, g.Recipe.Unsharp)
			assert.Equal(t, f.Recipe.JPEG, g.Recipe.JPEG)
			if of(f, string(Multiscale)) == "yes" {
				changed++
			}
		}
	}
	assert.Greater(t, changed, 20)
	for _, h := range drawn(Options{Only: []Style{JPEG, "sigmoid"}}) {
		for _, f := range h.Films {
			assert.Positive(t, f.Recipe.JPEG)
			assert.Equal(t, 8, f.Recipe.Bits)
			assert.EqualValues(t, "sigmoid", f.Recipe.Tone)
		}
	}
}

// Plain hips have neither clutter nor enhancement.
func TestPlain(t *testing.T) {
	for _, h := range drawn(Options{}) {
		for _, f := range h.Films {
			if !h.Plain {
				continue
			}
			assert.Empty(t, f.Scene.Letters)
			assert.Empty(t, f.Scene.Blades)
			assert.Empty(t, f.Scene.Pieces)
			for _, s := range []Style{Unsharp, Multiscale, Equalise, JPEG, Scan, ClipHigh, ClipLow} {
				assert.Equal(t, "no", of(f, string(s)), s)
			}
		}
	}
}

func TestOptionsAreChecked(t *testing.T) {
	assert.NoError(t, Options{}.Validate())
	for _, o := range []Options{
		{Without: []Style{"sharp"}}, {Only: []Style{JPEG}, Without: []Style{JPEG}},
		{Without: []Style{"logarithm", "sigmoid", "film", "linear", "knee"}},
	} {
		assert.Error(t, o.Validate(), "%+v", o)
	}
}

func TestEmptyFilms(t *testing.T) {
	seen := map[Kind]bool{}
	for i := range 4 * len(Kinds) {
		kind, f := Empty(3, i, Options{})
		seen[kind] = true
		require.NoError(t, f.Scene.Validate(), "%s", kind)
		require.NoError(t, f.Recipe.Validate(), "%s", kind)
		assert.Equal(t, string(kind), of(f, "kind"))
		if kind != Stem {
			assert.Empty(t, f.Scene.Hips)
			continue
		}
		truths, err := phantom.Truths(f.Scene)
		require.NoError(t, err)
		assert.Less(t, truths[0].Cup.Y+truths[0].Cup.R, 0.0, "the cup is above the film")
		assert.Less(t, truths[0].Head.Y+truths[0].Head.R, 0.0, "and the head")
	}
	assert.Len(t, seen, len(Kinds))
}

// A film is rendered with all of its bits, the same each time.
func TestDevelop(t *testing.T) {
	f := Draw(3, 2, Options{}).Films[1]
	f.Scene.Window = f.Scene.Around(f.Scene.Hips[0].Side, 40).Window // small, to be quick
	a, err := f.Develop()
	require.NoError(t, err)
	b, err := f.Develop()
	require.NoError(t, err)
	assert.Equal(t, a.Pix, b.Pix)
}

func ExampleDraw() {
	h := Draw(1, 0, Options{Without: []Style{JPEG}})
	fmt.Println(len(h.Films), h.Cup == measure.Shell || h.Cup == measure.Wire)
	// Output: 3 true
}

func ExampleEmpty() {
	kind, f := Empty(1, 2, Options{})
	fmt.Println(kind, len(f.Scene.Hips), len(f.Scene.Pieces) > 0)
	// Output: plate 0 true
}
