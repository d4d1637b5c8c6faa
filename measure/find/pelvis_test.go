package find_test

import (
	"image"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// pelvisView renders a scene in pixels of 0.3 mm.
func pelvisView(t testing.TB, s phantom.Scene, window float64) find.PelvisView {
	s.Width, s.Height, s.Spacing = 1420, 1180, 0.3
	if window > 0 {
		s = s.Around(s.Hips[0].Side, window)
	}
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truth, err := phantom.Truths(s)
	require.NoError(t, err)
	return find.PelvisView{Film: img, Head: truth[0].Head, Cup: truth[0].Cup, HeadMM: s.Hips[0].HeadMM, Side: s.Hips[0].Side}
}

// TestAlignPelvis turns patients by known angles who also lie a little tilted and
// shifted on each film.
func TestAlignPelvis(t *testing.T) {
	if testing.Short() {
		t.Skip("renders films")
	}
	for _, c := range []struct {
		name    string
		window  float64
		degrees float64 // SD of tilt and of turn about the long axis
		most    float64 // RMS error allowed, degrees
		n       uint64
	}{
		{"whole films", 0, 0.7, 0.25, 2},
		{"films cut around the hip", 190, 0.7, 0.2, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			var sum, squares float64
			inside, n := 0, 0
			var spent time.Duration
			for patient := range c.n {
				side := measure.Side(1 + patient%2)
				scene := phantom.Plain(side)
				scene.Patient, scene.Seed = patient+40, 900+patient
				films := phantom.Series(scene, phantom.Course{}, []float64{0, 3}, phantom.Repositioning{ShiftMM: 8, Degrees: c.degrees, BeamMM: 5})
				films[0].Roll, films[1].Roll = 1.5*math.Sin(float64(patient)), 6*math.Sin(1.7*float64(patient)+1)
				films[1].Hips[0].Superior = 1
				a, b := pelvisView(t, films[0], c.window), pelvisView(t, films[1], c.window)
				began := time.Now()
				r, err := find.AlignPelvis(a, b)
				spent += time.Since(began)
				require.NoError(t, err, "patient %d", patient)
				e := r.Degrees - (films[1].Roll - films[0].Roll)
				t.Logf("patient %d: turned %+.2f, found %+.2f ± %.2f, error %+.2f",
					patient, films[1].Roll-films[0].Roll, r.Degrees, r.SE, e)
				sum, squares, n = sum+e, squares+e*e, n+1
				if math.Abs(e) < 1.96*r.SE {
					inside++
				}
			}
			rms := math.Sqrt(squares / float64(n))
			t.Logf("bias %+.3f, RMS %.3f degrees, %d of %d inside 95 %%, %d ms a pair", sum/float64(n), rms, inside, n, spent.Milliseconds()/int64(n))
			assert.Less(t, rms, c.most)
			assert.GreaterOrEqual(t, inside, n-1)
		})
	}
}

func TestAlignPelvisRefuses(t *testing.T) {
	flat := func(w, h int) find.PelvisView {
		return find.PelvisView{Film: image.NewGray16(image.Rect(0, 0, w, h)), HeadMM: 28, Side: measure.Right,
			Head: measure.Circle{X: 400, Y: 400, R: 50}, Cup: measure.Circle{X: 400, Y: 400, R: 95}}
	}
	_, err := find.AlignPelvis(flat(800, 800), flat(800, 800))
	assert.ErrorIs(t, err, find.ErrNoPelvis, "nothing exposed")
	_, err = find.AlignPelvis(flat(3, 3), flat(800, 800))
	assert.ErrorIs(t, err, find.ErrNoPelvis, "no film around the cup")
	other := flat(800, 800)
	other.Side = measure.SideUnknown
	_, err = find.AlignPelvis(other, flat(800, 800))
	assert.ErrorIs(t, err, measure.ErrNoSide)
	other = flat(800, 800)
	other.Cup.X = math.NaN()
	_, err = find.AlignPelvis(other, flat(800, 800))
	assert.ErrorIs(t, err, measure.ErrNotFinite)
}
