package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	steadyYears = []float64{1, 2, 5, 9}
	steadyMM    = []float64{0.2, 0.31, 0.38, 0.62}
)

// With films alike, rise and bedding-in are predictions of one more film, R's
// predict(lm(y ~ t), interval = "prediction").
func TestSteadyOfFilmsAlike(t *testing.T) {
	f, err := FitSteady(steadyYears, steadyMM, nil, Baseline{Time: 0.1}, 0)
	require.NoError(t, err)
	lo, hi := f.Line.PredictInterval(5, 0.95)
	got := f.RiseInterval(5, 0.95)
	near(t, lo, got.Lo, 1e-12, "lower")
	near(t, hi, got.Hi, 1e-12, "upper")
	e := f.Bedding()
	near(t, f.BeddingInterval(0.95).Hi, e.Interval(0.95).Hi, 1e-12, "bedding-in")
	near(t, f.Line.Intercept, e.Value, 1e-15, "bedding-in")
	r := f.Line.TimeTo(1, 1, 0.95) // Fieller's region of one reading
	c := f.TimeTo(1, 0.95)
	require.True(t, c.Told())
	near(t, r.At, c.At, 1e-12, "time")
	near(t, r.Lo, c.Times[0].Lo, 1e-9, "early")
	near(t, r.Hi, c.Times[0].Hi, 1e-9, "late")
	assert.True(t, c.Beyond)
}

// A known error beyond those of the films comes on top; a rate has none of it.
func TestSteadyWithAnUncertainBaseline(t *testing.T) {
	se := []float64{0.03, 0.03, 0.03, 0.03}
	alike, err := FitSteady(steadyYears, steadyMM, se, Baseline{SE: 0.03}, 0)
	require.NoError(t, err)
	half := func(b Baseline, scale float64) (bedding, rate float64) {
		f, err := FitSteady(steadyYears, steadyMM, se, b, scale)
		require.NoError(t, err)
		i, r := f.BeddingInterval(0.95), f.RateInterval(0.95)
		return (i.Hi - i.Lo) / 2, (r.Hi - r.Lo) / 2
	}
	b0, r0 := half(Baseline{SE: 0.03}, 0)
	unknown, _ := half(Baseline{}, 0)
	near(t, b0, unknown, 1e-12, "not known: as the others")
	b1, r1 := half(Baseline{SE: 0.5}, 0)
	const z = 1.959963984540054
	told, student := b0/4.302652729911275, 4.302652729911275 // with 2 degrees of freedom
	known := 0.25 - 0.0009
	c := told * told / (told*told + known)
	near(t, math.Sqrt((told*told+known)*(z*z+c*c*(student*student-z*z))), b1, 1e-12, "on top")
	near(t, r0, r1, 1e-12, "the rate")
	better, _ := half(Baseline{SE: 0.001}, 0)
	assert.Less(t, better, b0)
	b2, r2 := half(Baseline{SE: 0.03}, 0.02)
	near(t, math.Hypot(r0, z*0.02*alike.Line.Slope), r2, 1e-12, "scale")
	assert.Greater(t, b2, b0)
}

// A baseline film in the line: no bedding-in, and its error is in the slope alone.
func TestSteadyFromAFilmOfTheLine(t *testing.T) {
	f, err := FitSteady(steadyYears, steadyMM, nil, Baseline{Time: 1, Inside: true}, 0)
	require.NoError(t, err)
	assert.Equal(t, Interval{}, f.BeddingInterval(0.95))
	assert.Zero(t, f.Bedding().Value)
	r := f.RateInterval(0.95)
	near(t, 4*r.Lo, f.RiseInterval(5, 0.95).Lo, 1e-12, "lower")
	c := f.TimeTo(1, 0.95)
	near(t, 1+1/f.Line.Slope, c.At, 1e-12, "time")
	near(t, 1+1/r.Hi, c.Times[0].Lo, 1e-9, "early")
}

func TestSteadyOfTwoFilms(t *testing.T) {
	f, err := FitSteady([]float64{1, 5}, []float64{0.3, 0.7}, []float64{0.03, 0.04}, Baseline{SE: 0.05}, 0)
	require.NoError(t, err)
	assert.True(t, f.Readings())
	near(t, 0.05/4, f.Rate().SE, 1e-12, "rate")
	e := f.Bedding()
	near(t, math.Sqrt(math.Pow(1.25*0.03, 2)+math.Pow(0.25*0.04, 2)+0.05*0.05), e.SE, 1e-12, "bedding-in")
	none, err := FitSteady([]float64{1, 5}, []float64{0.3, 0.7}, nil, Baseline{}, 0.01)
	require.NoError(t, err)
	assert.False(t, none.Told())
	assert.Equal(t, Unbounded(), none.RateInterval(0.95))
	assert.Equal(t, Unbounded(), none.RiseInterval(3, 0.95))
	assert.Equal(t, []Interval{{0, math.Inf(1)}}, none.TimeTo(1, 0.95).Times)
}

// A level that the line had reached by surgery, and one that it moves away from.
func TestSteadyTimeOfAReachedLevel(t *testing.T) {
	f, err := FitSteady(steadyYears, steadyMM, nil, Baseline{Time: 0.1}, 0)
	require.NoError(t, err)
	c := f.TimeTo(0.05, 0.95)
	assert.Equal(t, Passed, c.State, "by the baseline film")
	assert.True(t, math.IsInf(c.At, 1))
	down, err := FitSteady(steadyYears, []float64{0.3, 0.21, 0.12, 0.02}, nil, Baseline{}, 0)
	require.NoError(t, err)
	assert.Equal(t, Never, down.TimeTo(0.9, 0.95).State)
}
