package wearfit

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Inverse prediction: published intervals (Graybill FA, Iyer HK. Regression
// Analysis. Duxbury 1994; Greenwell BM, Schubert Kabban CM. R Journal
// 2014;6(1):90-100) and R 4.2.2 by formula and by root finding.
func TestTimeTo(t *testing.T) {
	var ref struct {
		Published map[string]any
		Computed  map[string]struct {
			Y0, Level, Estimate float64
			Target              string
			SE                  float64  `json:"se_delta"`
			Kind                string   `json:"fieller_kind"`
			Lower               *float64 `json:"fieller_lower"`
			Upper               *float64 `json:"fieller_upper"`
			Beyond              bool     `json:"beyond_last_x"`
		}
		Origin map[string]struct {
			Y0, Level, Estimate float64
			Lower               float64 `json:"fieller_lower"`
			Upper               float64 `json:"fieller_upper"`
			SE                  float64 `json:"se_delta"`
		} `json:"through_origin"`
	}
	reference(t, "inverse.json", &ref)
	require.Len(t, ref.Computed, 18)
	for name, want := range ref.Computed {
		t.Run(name, func(t *testing.T) {
			parts := strings.Split(name, "_")
			set := parts[0]
			if set == "penetration" {
				set += "_" + parts[1] + "_from_1_year"
			}
			d := columns(t, "calibration_lines.csv", func(m map[string]string) bool { return m["set"] == set }, "x", "y")
			l, err := FitLine(d[0], d[1], nil)
			require.NoError(t, err)
			r := l.TimeTo(want.Y0, 0, want.Level)
			if want.Target == "one new observation" {
				r = l.TimeTo(want.Y0, 1, want.Level)
			}
			near(t, want.Estimate, r.At, certified, "time")
			near(t, want.SE, r.SE, 1e-8, "standard error")
			assert.True(t, strings.HasPrefix(want.Kind, r.Shape.String()), "%s, want %s", r.Shape, want.Kind)
			assert.Equal(t, want.Beyond, r.Beyond)
			assert.Equal(t, want.Kind == "interval", r.Told())
			if want.Lower == nil {
				assert.True(t, math.IsInf(r.Lo, -1) && math.IsInf(r.Hi, 1))
				return
			}
			near(t, *want.Lower, r.Lo, 1e-8, "lower")
			near(t, *want.Upper, r.Hi, 1e-8, "upper")
			if p, ok := ref.Published[name].([]any); ok {
				for i, got := range []float64{r.At, r.Lo, r.Hi} {
					// Some are printed to two decimals, some to one.
					assert.InDelta(t, p[i], got, 0.051, "published")
				}
			}
		})
	}
	for name, want := range ref.Origin {
		d := columns(t, seriesFile, func(m map[string]string) bool { return m["series"] == name }, "t", "y")
		l, err := FitOrigin(d[0], d[1], nil)
		require.NoError(t, err)
		r := l.TimeTo(want.Y0, 0, want.Level)
		near(t, want.Estimate, r.At, certified, "time")
		near(t, want.Lower, r.Lo, certified, "lower")
		near(t, want.Upper, r.Hi, certified, "upper")
		near(t, want.SE, r.SE, certified, "standard error")
	}
}

// At the ends of the region the interval of the line ends at the level.
func TestTimeToInverts(t *testing.T) {
	l, err := FitLine([]float64{1, 2, 5, 8, 10}, []float64{0.21, 0.32, 0.58, 0.93, 1.10}, nil)
	require.NoError(t, err)
	r := l.TimeTo(2, 0, 0.95)
	near(t, 2, l.MeanInterval(r.Lo, 0.95).Hi, 1e-12, "upper line")
	near(t, 2, l.MeanInterval(r.Hi, 0.95).Lo, 1e-12, "lower line")
	n := l.TimeTo(2, 1, 0.95)
	_, hi := l.PredictInterval(n.Lo, 0.95)
	near(t, 2, hi, 1e-12, "upper reading")
	assert.Less(t, n.Lo, r.Lo)
}

func TestReachingTimes(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name string
		r    Reaching
		want []Interval
	}{
		{"interval", Reaching{Lo: 3, Hi: 9}, []Interval{{5, 9}}},
		{"empty", Reaching{Lo: 1, Hi: 3}, nil},
		{"upper ray", Reaching{Shape: ShapeTwoRays, Lo: 2, Hi: 9}, []Interval{{9, inf}}},
		{"both rays", Reaching{Shape: ShapeTwoRays, Lo: 7, Hi: 9}, []Interval{{5, 7}, {9, inf}}},
		{"whole line", Reaching{Shape: ShapeWholeLine}, []Interval{{5, inf}}},
	} {
		t.Run(c.name, func(t *testing.T) { assert.Equal(t, c.want, c.r.Times(5)) })
	}
}

func TestTimeToWithoutScatter(t *testing.T) {
	two, err := FitLine([]float64{1, 5}, []float64{0.2, 0.6}, nil)
	require.NoError(t, err)
	r := two.TimeTo(1, 0, 0.95)
	near(t, 9, r.At, 1e-12, "time")
	assert.Equal(t, ShapeWholeLine, r.Shape, "two films tell no interval")
	k := two.WithSigma(0.05).TimeTo(1, 0, 0.95)
	assert.True(t, k.Told())
	assert.True(t, k.Lo < 9 && k.Hi > 9 && k.Beyond)
	flat, err := FitLine([]float64{1, 2, 3}, []float64{0.5, 0.5, 0.5}, nil)
	require.NoError(t, err)
	assert.True(t, math.IsInf(flat.TimeTo(1, 0, 0.95).At, 1))
	assert.InDelta(t, 2, flat.TimeTo(0.5, 0, 0.95).At, 1e-12)
}
