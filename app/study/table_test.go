package study

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

// penetrationRows reads one series of ../../testdata/penetration_series.csv.
func penetrationRows(t *testing.T, series string) (out []Point) {
	t.Helper()
	f, err := os.Open("../../testdata/penetration_series.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, r := range rows[1:] {
		if r[0] != series {
			continue
		}
		var v [3]float64
		for i := range v {
			v[i], err = strconv.ParseFloat(r[i+1], 64)
			require.NoError(t, err)
		}
		out = append(out, Point{Years: v[0], MM: v[1], SE: v[2]})
	}
	return out
}

// R 4.2.2 on four simulated series: lm(y ~ t, subset = t >= 1), and metafor's line by
// the readings' errors and scatter. The bedding-in's interval is R's standard error of
// the intercept with one more reading added.
func TestHipRateAgainstR(t *testing.T) {
	type fit struct {
		Coefficients, SE map[string]float64
		Lower            map[string]float64 `json:"ci95_lower"`
		Upper            map[string]float64 `json:"ci95_upper"`
		Sigma, Extra     float64
		DF               int
	}
	var ref struct {
		Series map[string]struct {
			Line     fit `json:"line_from_1_year"`
			Balanced fit `json:"balanced_line_from_1_year"`
		}
	}
	b, err := os.ReadFile("../../testdata/penetration_lines.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &ref))
	const tol = 1e-9 // R's digits; figures are of the order of 0.1 mm
	for _, name := range []string{"A", "B", "C", "D"} {
		t.Run(name, func(t *testing.T) {
			rows := penetrationRows(t, name)
			plain := make([]Point, len(rows))
			var used, meanVar float64
			for i, p := range rows {
				plain[i] = Point{Years: p.Years, MM: p.MM}
				if p.Years >= 1 {
					used++
					meanVar += p.SE * p.SE
				}
			}
			meanVar /= used
			for _, c := range []struct {
				rows    []Point
				want    fit
				baseVar float64 // of the baseline's reading over sigma²
				warn    int
			}{{plain, ref.Series[name].Line, 1, 0}, {rows, ref.Series[name].Balanced, meanVar + ref.Series[name].Balanced.Extra, 1}} {
				r := NewHipRate("hip "+name, c.rows, 1)
				require.NotNil(t, r.Fit, r.Reason)
				assert.Len(t, r.Warnings, c.warn)
				assert.Equal(t, len(rows), r.N)
				assert.InDelta(t, used, r.Used, 0)
				f := r.Fit
				assert.InDelta(t, c.want.Coefficients["slope"], f.Rate, tol)
				assert.InDelta(t, c.want.SE["slope"], f.SE, tol)
				assert.InDelta(t, c.want.Lower["slope"], f.Lo95, tol)
				assert.InDelta(t, c.want.Upper["slope"], f.Hi95, tol)
				assert.InDelta(t, c.want.Coefficients["intercept"], f.BeddingIn, tol)
				q := (c.want.Upper["intercept"] - c.want.Lower["intercept"]) / 2 / c.want.SE["intercept"]
				half := q * math.Sqrt(math.Pow(c.want.SE["intercept"], 2)+math.Pow(c.want.Sigma, 2)*c.baseVar)
				assert.InDelta(t, f.BeddingIn-half, f.BeddingLo95, tol)
				assert.InDelta(t, f.BeddingIn+half, f.BeddingHi95, tol)
				assert.Equal(t, "fit", f.IntervalFrom)
				assert.Equal(t, c.want.DF, f.Line.DF)
			}
		})
	}
}

func TestHipRateReasons(t *testing.T) {
	for _, c := range []struct {
		name  string
		rows  []Point
		start float64
		want  string
	}{
		{"no rows", nil, 1, "no rate: no measured film at or after 1 year"},
		{"early rows", []Point{{Years: 0.1, MM: 0}, {Years: 0.5, MM: 0.1}}, 1, "no rate: no measured film at or after 1 year"},
		{"one row", []Point{{Years: 0.1, MM: 0}, {Years: 2, MM: 0.1}}, 0, "no rate: one measured film at or after 1 year, two are needed (three for an interval from their scatter)"},
		{"one time", []Point{{Years: 2, MM: 0.1}, {Years: 2, MM: 0.2}, {Years: 2, MM: 0.3}}, 1, "all times are equal, no slope can be fitted"},
		{"not a number", []Point{{Years: 1, MM: 0.1}, {Years: 2, MM: math.NaN()}}, 1, "row 2: a value is not a finite number"},
		{"before surgery", []Point{{Years: -1, MM: 0.1}, {Years: 2, MM: 0.2}}, 1, "row 1: -1 years is before surgery"},
		{"negative error", []Point{{Years: 1, MM: 0.1, SE: -0.1}, {Years: 2, MM: 0.2}}, 1, "row 1: a standard error of -0.1 mm is negative"},
		{"bad start", []Point{{Years: 1, MM: 0.1}, {Years: 2, MM: 0.2}}, -2, "a start of the steady state at -2 years is outside 0 to 20 years"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := NewHipRate("h", c.rows, c.start)
			assert.Equal(t, c.want, NoteWords(r.Reason))
			r.Reason = Note{}
			assert.Equal(t, HipRate{Hip: "h", N: len(c.rows), Used: r.Used}, r)
		})
	}
}

func TestHipRateWarns(t *testing.T) {
	t.Run("some standard errors", func(t *testing.T) {
		mixed := NewHipRate("h", []Point{{Years: 1, MM: 0.1, SE: 0.05}, {Years: 2, MM: 0.25}, {Years: 4, MM: 0.4, SE: 0.01}}, 1)
		none := NewHipRate("h", []Point{{Years: 1, MM: 0.1}, {Years: 2, MM: 0.25}, {Years: 4, MM: 0.4}}, 1)
		assert.Equal(t, none.Fit, mixed.Fit)
		assert.Equal(t, []string{"some rows have no standard error: all films weigh the same"}, NotesWords(mixed.Warnings))
	})
	t.Run("two rows", func(t *testing.T) {
		r := NewHipRate("h", []Point{{Years: 0.1, MM: 0}, {Years: 1, MM: 0.1}, {Years: 5, MM: 0.5}}, 1)
		require.NotNil(t, r.Fit)
		assert.False(t, r.Fit.HasInterval)
		assert.Equal(t, []string{"two films without standard errors of their readings: no interval can be given"}, NotesWords(r.Warnings))
		r = NewHipRate("h", []Point{{Years: 0.1, MM: 0}, {Years: 1, MM: 0.1, SE: 0.03}, {Years: 5, MM: 0.5, SE: 0.04}}, 1)
		require.NotNil(t, r.Fit)
		assert.Equal(t, "readings", r.Fit.IntervalFrom)
		assert.InDelta(t, 0.05/4, r.Fit.SE, 1e-12)
	})
	t.Run("the baseline among the rows of the line", func(t *testing.T) {
		r := NewHipRate("h", []Point{{Years: 5, MM: 0.4}, {Years: 1, MM: 0}, {Years: 3, MM: 0.21}}, 1)
		require.NotNil(t, r.Fit)
		assert.False(t, r.Fit.HasBedding)
		assert.Equal(t, []string{"bedding-in was not observed: the baseline row is at 1 years"}, NotesWords(r.Warnings))
	})
}

// The facts of the trade in trade_wear.csv (common practice, no source) as a
// table of penetrations.
func TestHipRateFactsOfTheTrade(t *testing.T) {
	f, err := os.Open("../../testdata/trade_wear.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	worn := map[float64][]Point{}
	for _, r := range rows[1:] {
		rate, years, lost := number(t, r[1]), number(t, r[2]), number(t, r[3])
		worn[rate] = append(worn[rate], Point{Years: years, MM: lost})
	}
	require.Len(t, worn, 2)
	for rate, points := range worn {
		r := NewHipRate("h", points, 1)
		require.NotNil(t, r.Fit)
		assert.InDelta(t, rate, r.Fit.Rate, 1e-12)
		assert.InDelta(t, rate, r.Fit.FirstToLast, 1e-12)
		assert.InDelta(t, 0, r.Fit.BeddingIn, 1e-12)
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}
