package find_test

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// rimFilm renders the surroundings of the only hip of s.
func rimFilm(t testing.TB, s phantom.Scene) (*image.Gray16, phantom.Truth, measure.Beam) {
	s = s.Around(s.Hips[0].Side, 100)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	return img, truths[0], measure.Beam{SourceImage: s.SourceImage, Spacing: s.Spacing, Center: measure.Point{
		X: float64(s.Width)/2 - float64(s.Window.Min.X), Y: float64(s.Height)/2 - float64(s.Window.Min.Y)}}
}

// Rims of rendered shells against the ellipse that the rim casts, and in the cone
// beam against the cup's orientation. Run with -v for the figures.
func TestShellRimAccuracy(t *testing.T) {
	films := 24
	if testing.Short() {
		films = 4
	}
	for _, c := range []struct {
		name     string
		change   func(*phantom.Scene, *phantom.Hip, *rand.Rand)
		inc, ver float64 // largest rms, degrees
		least    float64 // share that is told
		held     float64 // least share of intervals that hold the truth
	}{
		{"plain", func(*phantom.Scene, *phantom.Hip, *rand.Rand) {}, 0.5, 1, 1, 0.8},
		{"cobalt-chromium", func(_ *phantom.Scene, h *phantom.Hip, _ *rand.Rand) { h.ShellMaterial = phantom.CoCr }, 0.5, 1.5, 0.95, 0.8},
		{"large body, few photons", func(s *phantom.Scene, _ *phantom.Hip, _ *rand.Rand) {
			s.BodyMM, s.Dose, s.Scatter = 300, s.Dose/4, 0.4
		}, 0.5, 1, 0.95, 0.8},
		{"clipped and enhanced", func(s *phantom.Scene, _ *phantom.Hip, _ *rand.Rand) { s.Clip, s.Enhance = 0.8, 1.2 }, 0.5, 1.2, 0.95, 0.8},
		{"clipped", func(s *phantom.Scene, _ *phantom.Hip, rng *rand.Rand) { s.Clip = 0.7 + 0.2*rng.Float64() }, 0.8, 1.5, 0.9, 0.8},
		{"large head", func(_ *phantom.Scene, h *phantom.Hip, rng *rand.Rand) {
			h.HeadMM, h.ShellMM = 40, 54+6*rng.Float64()
		}, 0.7, 1.5, 0.9, 0.8},
	} {
		t.Run(c.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(2041, 3))
			var inc, ver, axis, tip departures
			told := 0
			for range films {
				s, h := drawHip(rng)
				h.Inclination, h.Anteversion = 30+30*rng.Float64(), 5+25*rng.Float64()
				h.WallMM, h.Abduction = 3+2.5*rng.Float64(), -10+20*rng.Float64()
				h.RimMM = max(-2.5, min(2.5, rng.NormFloat64()))
				s.Seed, s.ShiftX, s.ShiftY = rng.Uint64(), 8*rng.NormFloat64(), 8*rng.NormFloat64()
				if h.HeadMM == 40 {
					h.HeadMM = 36
				}
				c.change(&s, &h, rng)
				s.Hips = []phantom.Hip{h}
				img, truth, beam := rimFilm(t, s)
				rim, err := find.ShellRim(img, truth.Cup, truth.Head)
				if err != nil {
					assert.ErrorAs(t, err, new(*measure.NoteError))
					continue
				}
				told++
				want, err := measure.ReadRim(measure.EllipseFit{Ellipse: truth.Rim}, h.Side, 0)
				require.NoError(t, err)
				got, err := measure.ReadRim(rim.EllipseFit, h.Side, 0)
				require.NoError(t, err)
				inc.add(got.Inclination-want.Inclination, got.SEInclination)
				ver.add(got.Anteversion-want.Anteversion, got.SEAnteversion)
				pose, _, err := beam.Rim(rim.EllipseFit, h.Side, 0)
				require.NoError(t, err)
				axis.add(pose.Inclination-h.Inclination, pose.SE[0])
				tip.add(pose.Anteversion-h.Anteversion, pose.SE[1])
			}
			assert.GreaterOrEqual(t, float64(told), c.least*float64(films))
			for _, k := range []struct {
				name string
				e    departures
				rms  float64
			}{
				{"inclination on the film", inc, c.inc}, {"version on the film", ver, c.ver},
				{"inclination", axis, c.inc}, {"version", tip, c.ver},
			} {
				bias, rms, held := k.e.summary()
				t.Logf("%-24s n %3d of %d bias %6.2f rms %5.2f deg, held %.2f", k.name, told, films, bias, rms, held)
				assert.Less(t, rms, k.rms, k.name)
				assert.GreaterOrEqual(t, held, c.held, k.name)
			}
		})
	}
}

// A rim whose plane lies out of the shell's centre or short of it, as shells have
// them: the rim is found there, and the axis does not follow it.
func TestShellRimOffTheCentre(t *testing.T) {
	for _, depth := range []float64{-3, 0, 2} {
		s := phantom.Plain(measure.Left)
		h := &s.Hips[0]
		h.HeadMM, h.Anteversion, h.RimMM = 28, 20, depth
		img, truth, _ := rimFilm(t, s)
		rim, err := find.ShellRim(img, truth.Cup, truth.Head)
		require.NoError(t, err)
		mm := h.HeadMM / (2 * truth.Head.R)
		assert.InDelta(t, truth.Rim.A, rim.A, 0.5/mm)
		assert.InDelta(t, truth.Rim.X, rim.X, 0.7/mm)
		assert.InDelta(t, truth.Rim.Y, rim.Y, 0.7/mm)
		assert.Greater(t, rim.Seen, 0.5)
		assert.InDelta(t, 180-h.Inclination, rim.Angle, 2)
		want, err := measure.ReadRim(measure.EllipseFit{Ellipse: truth.Rim}, h.Side, 0)
		require.NoError(t, err)
		got, err := measure.ReadRim(rim.EllipseFit, h.Side, 0)
		require.NoError(t, err)
		t.Logf("depth %+.0f: version %+.2f (%.2f)", depth, got.Anteversion-want.Anteversion, got.SEAnteversion)
		assert.LessOrEqual(t, math.Abs(got.Anteversion-want.Anteversion), 2.5*got.SEAnteversion)
	}
}

func TestShellRimOfPartOfAFilm(t *testing.T) {
	s := phantom.Plain(measure.Right)
	s.Hips[0].Anteversion = 18
	img, truth, _ := rimFilm(t, s)
	want, err := measure.ReadRim(measure.EllipseFit{Ellipse: truth.Rim}, measure.Right, 0)
	require.NoError(t, err)
	for _, cut := range []float64{0.7, 0.25, -0.3} { // the film's lower edge, radii below the centre
		part := *img
		part.Rect.Max.Y = int(truth.Cup.Y + cut*truth.Cup.R)
		rim, err := find.ShellRim(&part, truth.Cup, truth.Head)
		if err != nil {
			assert.ErrorAs(t, err, new(*measure.NoteError))
			assert.Less(t, cut, 0.5)
			continue
		}
		got, err := measure.ReadRim(rim.EllipseFit, measure.Right, 0)
		require.NoError(t, err)
		t.Logf("cut at %.2f: seen %.2f, inclination %+.2f (%.2f), version %+.2f (%.2f)", cut, rim.Seen,
			got.Inclination-want.Inclination, got.SEInclination, got.Anteversion-want.Anteversion, got.SEAnteversion)
		assert.LessOrEqual(t, math.Abs(got.Inclination-want.Inclination), 3*got.SEInclination)
		assert.LessOrEqual(t, math.Abs(got.Anteversion-want.Anteversion), 3*got.SEAnteversion)
	}
}

func TestShellRimRefuses(t *testing.T) {
	plain := phantom.Plain(measure.Right)
	img, truth, _ := rimFilm(t, plain)
	flat := image.NewGray16(img.Rect)
	noise := image.NewGray16(img.Rect)
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range noise.Pix {
		noise.Pix[i] = uint8(rng.Uint32())
	}
	bone := plain
	bone.Hips = nil
	native, err := phantom.Render(bone)
	require.NoError(t, err)
	hidden := truth.Head
	hidden.R = 0.99 * truth.Cup.R
	for _, c := range []struct {
		name        string
		img         *image.Gray16
		shell, head measure.Circle
	}{
		{"flat", flat, truth.Cup, truth.Head},
		{"noise", noise, truth.Cup, truth.Head},
		{"no shell", native, truth.Cup, truth.Head},
		{"hidden by the head", img, truth.Cup, hidden},
		{"off the film", img, measure.Circle{X: -4000, Y: 10, R: truth.Cup.R}, truth.Head},
		{"not finite", img, measure.Circle{X: math.NaN(), R: 100}, truth.Head},
		{"no head", img, truth.Cup, measure.Circle{}},
		{"one pixel", image.NewGray16(image.Rect(0, 0, 1, 1)), measure.Circle{R: 20}, measure.Circle{R: 10}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := find.ShellRim(c.img, c.shell, c.head)
			assert.ErrorAs(t, err, new(*measure.NoteError))
			t.Log(err)
		})
	}
}

func ExampleShellRim() {
	scene := phantom.Plain(measure.Right)
	patch, _ := phantom.Render(scene)
	truth, _ := phantom.Truths(scene) // else outlines by find.Hips or find.Refine
	rim, err := find.ShellRim(patch, truth[0].Cup, truth[0].Head)
	if err != nil {
		fmt.Println(err)
		return
	}
	o, _ := measure.ReadRim(rim.EllipseFit, measure.Right, 0)
	fmt.Printf("inclination %.0f deg\n", o.Inclination)
	// Output: inclination 43 deg
}

func BenchmarkShellRim(b *testing.B) {
	img, truth, _ := rimFilm(b, phantom.Plain(measure.Right))
	for b.Loop() {
		if _, err := find.ShellRim(img, truth.Cup, truth.Head); err != nil {
			b.Fatal(err)
		}
	}
}
