package wearfit

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// certified is the relative tolerance against certified and R values: they
// carry 15 digits, least squares in float64 keeps at least 11 of them here.
const certified = 1e-9

// seriesFile holds four simulated series that several packages test with.
const seriesFile = "../../testdata/penetration_series.csv"

func near(t *testing.T, want, got, rel float64, what string) {
	t.Helper()
	if want == 0 {
		assert.InDelta(t, want, got, rel, what)
		return
	}
	assert.InEpsilon(t, want, got, rel, what)
}

// columns reads the named columns of testdata/name; rows keeps a row where keep
// says so of its text fields.
func columns(t *testing.T, name string, keep func(map[string]string) bool, cols ...string) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := make([][]float64, len(cols))
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = row[i]
		}
		if keep != nil && !keep(m) {
			continue
		}
		for i, c := range cols {
			v, err := strconv.ParseFloat(m[c], 64)
			require.NoError(t, err)
			out[i] = append(out[i], v)
		}
	}
	return out
}

func reference(t *testing.T, name string, v any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, v))
}

// NIST StRD Norris: certified values, linear regression, lower difficulty.
func TestFitLineNorris(t *testing.T) {
	d := columns(t, "nist_norris.csv", nil, "x", "y")
	l, err := FitLine(d[0], d[1], nil)
	require.NoError(t, err)
	assert.Equal(t, 36, l.N)
	assert.Equal(t, 34, l.DF)
	near(t, -0.262323073774029, l.Intercept, certified, "intercept")
	near(t, 1.00211681802045, l.Slope, certified, "slope")
	near(t, 0.232818234301152, l.SEIntercept, certified, "se intercept")
	near(t, 0.429796848199937e-03, l.SESlope, certified, "se slope")
	near(t, 0.884796396144373, l.Sigma, certified, "residual sd")
	near(t, 0.999993745883712, l.R2, certified, "r squared")
	var rss float64
	for _, r := range l.Residuals {
		rss += r * r
	}
	near(t, 26.6173985294224, rss, certified, "residual sum of squares")
}

// NIST StRD NoInt1: certified values; R² is about zero.
func TestFitOriginNoInt1(t *testing.T) {
	d := columns(t, "nist_noint1.csv", nil, "x", "y")
	l, err := FitOrigin(d[0], d[1], nil)
	require.NoError(t, err)
	assert.Equal(t, 10, l.DF)
	near(t, 2.07438016528926, l.Slope, certified, "slope")
	near(t, 0.165289256198347e-01, l.SESlope, certified, "se slope")
	near(t, 3.56753034006338, l.Sigma, certified, "residual sd")
	near(t, 0.999365492298663, l.R2, certified, "r squared")
	assert.Zero(t, l.Intercept)
	assert.Zero(t, l.SEIntercept)
	lo, hi := l.InterceptInterval(0.95)
	assert.Equal(t, [2]float64{0, 0}, [2]float64{lo, hi})
}

// R 4.2.2: predict(lm(y ~ x), interval = "confidence" and "prediction"),
// hatvalues and rstandard.
func TestIntervalsAgainstR(t *testing.T) {
	type band struct {
		X            []float64
		Confidence95 [][3]float64
		Prediction95 [][3]float64
		Prediction90 [][3]float64
	}
	var ref struct {
		Norris, NoInt1 band
		Diagnostics    struct {
			Leverage    []float64
			Studentised []float64 `json:"studentised_internal"`
		} `json:"norris_diagnostics_first5"`
	}
	reference(t, "intervals.json", &ref)
	n := columns(t, "nist_norris.csv", nil, "x", "y")
	norris, err := FitLine(n[0], n[1], nil)
	require.NoError(t, err)
	o := columns(t, "nist_noint1.csv", nil, "x", "y")
	origin, err := FitOrigin(o[0], o[1], nil)
	require.NoError(t, err)

	for _, c := range []struct {
		name string
		line Line
		ref  band
	}{{"norris", norris, ref.Norris}, {"noint1", origin, ref.NoInt1}} {
		t.Run(c.name, func(t *testing.T) {
			require.NotEmpty(t, c.ref.X)
			for i, x := range c.ref.X {
				y, se := c.line.Mean(x)
				q := c.line.Quantile(0.95)
				near(t, c.ref.Confidence95[i][0], y, certified, "fit")
				near(t, c.ref.Confidence95[i][1], y-q*se, certified, "confidence lower")
				near(t, c.ref.Confidence95[i][2], y+q*se, certified, "confidence upper")
				lo, hi := c.line.PredictInterval(x, 0.95)
				near(t, c.ref.Prediction95[i][1], lo, certified, "prediction lower")
				near(t, c.ref.Prediction95[i][2], hi, certified, "prediction upper")
				if c.ref.Prediction90 != nil {
					lo, hi = c.line.PredictInterval(x, 0.90)
					near(t, c.ref.Prediction90[i][1], lo, certified, "prediction 90 lower")
					near(t, c.ref.Prediction90[i][2], hi, certified, "prediction 90 upper")
				}
			}
		})
	}
	require.Len(t, ref.Diagnostics.Leverage, 5)
	for i, h := range ref.Diagnostics.Leverage {
		near(t, h, norris.Leverage[i], certified, "leverage")
		s := norris.Residuals[i] / (norris.Sigma * math.Sqrt(1-norris.Leverage[i]))
		near(t, ref.Diagnostics.Studentised[i], s, certified, "studentised residual")
	}
}

// rLine is the summary of an lm fit.
type rLine struct {
	Coefficients, SE map[string]float64
	Lower            map[string]float64 `json:"ci95_lower"`
	Upper            map[string]float64 `json:"ci95_upper"`
	Sigma            float64
	R2               float64 `json:"r_squared"`
	DF               int
}

func (r rLine) check(t *testing.T, l Line, intercept, slope string) {
	t.Helper()
	near(t, r.Coefficients[intercept], l.Intercept, certified, "intercept")
	near(t, r.Coefficients[slope], l.Slope, certified, "slope")
	near(t, r.SE[intercept], l.SEIntercept, certified, "se intercept")
	near(t, r.SE[slope], l.SESlope, certified, "se slope")
	near(t, r.Sigma, l.Sigma, certified, "sigma")
	near(t, r.R2, l.R2, certified, "r squared")
	assert.Equal(t, r.DF, l.DF)
	lo, hi := l.InterceptInterval(0.95)
	near(t, r.Lower[intercept], lo, certified, "intercept lower")
	near(t, r.Upper[intercept], hi, certified, "intercept upper")
	lo, hi = l.SlopeInterval(0.95)
	near(t, r.Lower[slope], lo, certified, "slope lower")
	near(t, r.Upper[slope], hi, certified, "slope upper")
}

// Weisberg S. Applied Linear Regression, 2nd ed. Wiley 1985, strong
// interaction data; R 4.2.2 lm(y ~ x, weights = 1/sd^2).
func TestFitLineWeighted(t *testing.T) {
	var ref struct{ WLS, OLS rLine }
	reference(t, "wls_strongx.json", &ref)
	d := columns(t, "wls_strongx.csv", nil, "x", "y", "sd")
	l, err := FitLine(d[0], d[1], inverseSquares(d[2]))
	require.NoError(t, err)
	ref.WLS.check(t, l, "(Intercept)", "x")
	// As printed in the book.
	assert.InDelta(t, 148.47, l.Intercept, 0.005)
	assert.InDelta(t, 530.84, l.Slope, 0.005)
	assert.InDelta(t, 8.079, l.SEIntercept, 0.0005)
	assert.InDelta(t, 47.55, l.SESlope, 0.005)
	l, err = FitLine(d[0], d[1], nil)
	require.NoError(t, err)
	ref.OLS.check(t, l, "(Intercept)", "x")
}

// R 4.2.2 on four simulated series: films from one year on, weighted and not,
// and all films through the origin.
func TestPenetrationSeries(t *testing.T) {
	var ref struct {
		Series map[string]struct {
			Line     rLine `json:"line_from_1_year"`
			Weighted rLine `json:"weighted_line_from_1_year"`
			Origin   struct {
				Slope, SE, Sigma float64
				DF               int
				R2               float64 `json:"r_squared_about_zero"`
				CI95             [2]float64
			} `json:"origin_line"`
		}
	}
	reference(t, "../../testdata/penetration_lines.json", &ref)
	for _, name := range []string{"A", "B", "C", "D"} {
		t.Run(name, func(t *testing.T) {
			want, ok := ref.Series[name]
			require.True(t, ok)
			all := columns(t, seriesFile,
				func(m map[string]string) bool { return m["series"] == name }, "t", "y", "sd")
			var from [3][]float64
			for i, years := range all[0] {
				if years >= 1 {
					for c := range from {
						from[c] = append(from[c], all[c][i])
					}
				}
			}
			l, err := FitLine(from[0], from[1], nil)
			require.NoError(t, err)
			want.Line.check(t, l, "intercept", "slope")
			l, err = FitLine(from[0], from[1], inverseSquares(from[2]))
			require.NoError(t, err)
			want.Weighted.check(t, l, "intercept", "slope")
			l, err = FitOrigin(all[0], all[1], nil)
			require.NoError(t, err)
			near(t, want.Origin.Slope, l.Slope, certified, "origin slope")
			near(t, want.Origin.SE, l.SESlope, certified, "origin se")
			near(t, want.Origin.Sigma, l.Sigma, certified, "origin sigma")
			near(t, want.Origin.R2, l.R2, certified, "origin r squared")
			assert.Equal(t, want.Origin.DF, l.DF)
			lo, hi := l.SlopeInterval(0.95)
			near(t, want.Origin.CI95[0], lo, certified, "origin lower")
			near(t, want.Origin.CI95[1], hi, certified, "origin upper")
		})
	}
}

func inverseSquares(sd []float64) []float64 {
	w := make([]float64, len(sd))
	for i, s := range sd {
		w[i] = 1 / (s * s)
	}
	return w
}

// Shifting the times changes the intercept alone: a calendar year as time
// must give the slope of the same films counted from surgery.
func TestFitLineFarFromZero(t *testing.T) {
	years := []float64{1, 2, 5, 7.5, 10}
	y := []float64{0.21, 0.28, 0.61, 0.83, 1.09}
	near1, err := FitLine(years, y, nil)
	require.NoError(t, err)
	shifted := make([]float64, len(years))
	for i, v := range years {
		shifted[i] = v + 1e6
	}
	far, err := FitLine(shifted, y, nil)
	require.NoError(t, err)
	// 1e6 + 7.5 is exact in float64; what is left is the rounding of the mean
	// time, 1e-10 years.
	near(t, near1.Slope, far.Slope, 1e-10, "slope")
	near(t, near1.SESlope, far.SESlope, 1e-10, "se slope")
	a, sa := near1.Mean(12)
	b, sb := far.Mean(1e6 + 12)
	near(t, a, b, 1e-9, "mean")
	near(t, sa, sb, 1e-10, "se of the mean")
}

// The errors agree with the covariance matrix they come from.
func TestCovariance(t *testing.T) {
	l, err := FitLine([]float64{1, 2, 5, 10}, []float64{0.2, 0.33, 0.58, 1.1}, []float64{1, 2, 3, 4})
	require.NoError(t, err)
	for _, at := range []float64{0, 1, 4, 20} {
		_, se := l.Mean(at)
		v := l.SEIntercept*l.SEIntercept + 2*at*l.Cov + at*at*l.SESlope*l.SESlope
		near(t, math.Sqrt(v), se, 1e-12, "se from the covariance")
	}
	var sum float64
	for _, h := range l.Leverage {
		sum += h
	}
	near(t, 2, sum, 1e-12, "leverages add up to the number of parameters")
}

func TestQuantile(t *testing.T) {
	// Two-sided 95 % and 99 % points of Student's t: Abramowitz M, Stegun IA.
	// Handbook of Mathematical Functions. NBS 1964, table 26.10.
	for _, c := range []struct {
		df    int
		level float64
		want  float64
	}{{1, 0.95, 12.706}, {2, 0.95, 4.303}, {4, 0.95, 2.776}, {4, 0.99, 4.604}, {10, 0.95, 2.228}, {30, 0.95, 2.042}} {
		assert.InDelta(t, c.want, Line{DF: c.df}.Quantile(c.level), 0.0005)
	}
	assert.True(t, math.IsInf(Line{}.Quantile(0.95), 1))
	assert.InDelta(t, 1.959964, Line{}.WithSigma(1).Quantile(0.95), 1e-6)
}

func TestTwoFilms(t *testing.T) {
	// Slope error of two films read with 0.1 mm: sqrt(2) 0.1 / 4.
	l, err := FitLine([]float64{1, 5}, []float64{0.2, 0.6}, nil)
	require.NoError(t, err)
	assert.Equal(t, 0, l.DF)
	lo, hi := l.SlopeInterval(0.95)
	assert.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1), "no interval from two films")
	lo, hi = l.PredictInterval(3, 0.95)
	assert.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1))
	assert.True(t, math.IsInf(l.SESlope, 1))
	k := l.WithSigma(0.1)
	near(t, 0.1, k.Slope, 1e-12, "slope")
	near(t, math.Sqrt2*0.1/4, k.SESlope, 1e-12, "known error")
	assert.True(t, math.IsInf(l.SESlope, 1), "the line itself is unchanged")
	// Unequal errors: weights 1/se², sigma 1.
	u, err := FitLine([]float64{1, 5}, []float64{0.2, 0.6}, []float64{1 / 0.01, 1 / 0.04})
	require.NoError(t, err)
	near(t, math.Sqrt(0.01+0.04)/4, u.WithSigma(1).SESlope, 1e-12, "unequal errors")
	// At the second film's time a further film of error 0.3 scatters with
	// sqrt(0.2² + 0.3²).
	lo, hi = u.WithSigma(1).PredictWeighted(5, 1/0.09, 0.95)
	near(t, 2*1.959963984540054*math.Sqrt(0.04+0.09), hi-lo, 1e-12, "prediction from known errors")
	// Symmetric about zero: no 0 * Inf.
	s, err := FitLine([]float64{-1, 1}, []float64{0, 1}, nil)
	require.NoError(t, err)
	assert.Zero(t, s.Cov)
}

func TestFaults(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		name    string
		t, y, w []float64
		want    string
	}{
		{"none", nil, nil, nil, "wearfit: too few films: 0, need 2"},
		{"one", []float64{1}, []float64{1}, nil, "wearfit: too few films: 1, need 2"},
		{"lengths", []float64{1, 2}, []float64{1}, nil, "wearfit: columns differ in length: 2 times, 1 values, 0 weights"},
		{"weights", []float64{1, 2}, []float64{1, 2}, []float64{1}, "wearfit: columns differ in length: 2 times, 2 values, 1 weights"},
		{"equal", []float64{3, 3, 3}, []float64{1, 2, 3}, nil, "wearfit: all times are equal, no slope can be fitted"},
		{"nan time", []float64{1, nan}, []float64{1, 2}, nil, "wearfit: time 2 is not a finite number (NaN)"},
		{"inf value", []float64{1, 2}, []float64{inf, 2}, nil, "wearfit: value 1 is not a finite number (+Inf)"},
		{"inf weight", []float64{1, 2}, []float64{1, 2}, []float64{1, inf}, "wearfit: weight 2 is not a finite number (+Inf)"},
		{"zero weight", []float64{1, 2}, []float64{1, 2}, []float64{0, 1}, "wearfit: weight 1 is not positive (0)"},
		{"overflow", []float64{1, 2}, []float64{1e300, -1e300}, nil, "wearfit: values out of the range that can be fitted"},
		{"overflow of an error", []float64{1e120, 2e120, 4e120}, []float64{1e150, -1e150, 1e150}, []float64{1e-100, 1e-100, 1e-100}, "wearfit: values out of the range that can be fitted"},
		{"underflow", []float64{0, 1e-200}, []float64{0, 1}, nil, "wearfit: values out of the range that can be fitted"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := FitLine(c.t, c.y, c.w)
			require.EqualError(t, err, c.want)
			assert.Equal(t, Line{}, l)
		})
	}
	_, err := FitOrigin([]float64{0, 0}, []float64{1, 2}, nil)
	require.ErrorIs(t, err, ErrEqualTimes)
	_, err = FitOrigin(nil, nil, nil)
	var few *TooFewError
	require.ErrorAs(t, err, &few)
	assert.Equal(t, TooFewError{N: 0, Need: 1}, *few)
}

func TestFlatSeries(t *testing.T) {
	l, err := FitLine([]float64{1, 2, 3}, []float64{0.5, 0.5, 0.5}, nil)
	require.NoError(t, err)
	assert.Zero(t, l.Slope)
	assert.Zero(t, l.R2)
	lo, hi := l.SlopeInterval(0.95)
	assert.Equal(t, [2]float64{0, 0}, [2]float64{lo, hi})
}

func BenchmarkFitLine(b *testing.B) {
	years := []float64{1, 2, 3, 5, 7, 10, 12, 15}
	y := []float64{0.2, 0.3, 0.4, 0.6, 0.8, 1.1, 1.3, 1.6}
	for b.Loop() {
		if _, err := FitLine(years, y, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// A small p is not rounded to 0; R 4.2.2: 2 * pnorm(-12).
func TestSmallP(t *testing.T) {
	e := Estimate{Value: 12, SE: 1, DF: math.Inf(1)}
	near(t, 3.552964224155358e-33, e.P(0), 1e-12, "p")
}
