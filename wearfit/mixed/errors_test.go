package mixed

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
)

// columns reads the columns of testdata/name.
func columns(t *testing.T, name string) (at map[string]int, rows [][]string) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err = csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	at = map[string]int{}
	for i, h := range rows[0] {
		at[h] = i
	}
	return at, rows[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// erring is the readings of errors.csv with their errors, and the fixed effects that
// row makes of years, group (1: linked) and age.
func erring(t *testing.T, row func(years, group, age float64) []float64) Data {
	t.Helper()
	at, rows := columns(t, "errors.csv")
	var d Data
	for _, r := range rows {
		years, group := number(t, r[at["years"]]), 0.0
		if r[at["group"]] == "linked" {
			group = 1
		}
		d.Hip, d.Patient = append(d.Hip, r[at["hip"]]), append(d.Patient, r[at["patient"]])
		d.Time, d.Value = append(d.Time, years), append(d.Value, number(t, r[at["penetration"]]))
		d.SE, d.BaseSE = append(d.SE, number(t, r[at["se"]])), append(d.BaseSE, number(t, r[at["se_base"]]))
		d.Class, d.Film = append(d.Class, r[at["reader"]]), append(d.Film, r[at["film"]])
		x := row(years, group, number(t, r[at["age"]]))
		if d.Fixed == nil {
			d.Fixed = make([][]float64, len(x))
		}
		for j, v := range x {
			d.Fixed[j] = append(d.Fixed[j], v)
		}
	}
	for j := range d.Fixed {
		d.Names = append(d.Names, fmt.Sprint("b", j))
	}
	return d
}

func yearsOnly(years, _, _ float64) []float64   { return []float64{1, years} }
func byGroup(years, group, _ float64) []float64 { return []float64{1, years, group, years * group} }
func byGroupAndAge(years, g, age float64) []float64 {
	return []float64{1, years, g, age - 60, years * g, years * (age - 60)}
}

// erringModels are the models that .ci/mixed.R has fitted to errors.csv.
func erringModels(t *testing.T) map[string]Model {
	t.Helper()
	out := map[string]Model{}
	for _, c := range []struct {
		name string
		row  func(years, group, age float64) []float64
		keep func(d *Data)
		o    Options
	}{
		{"plain", byGroup, func(d *Data) { d.SE, d.BaseSE, d.Class, d.Film, d.Patient = nil, nil, nil, nil, nil }, Options{}},
		{"film", yearsOnly, func(d *Data) { d.SE, d.BaseSE, d.Class, d.Patient = nil, nil, nil, nil }, Options{}},
		{"patient", byGroup, func(d *Data) { d.SE, d.BaseSE, d.Class, d.Film = nil, nil, nil, nil }, Options{PatientSlope: true}},
		{"class", yearsOnly, func(d *Data) { d.SE, d.BaseSE, d.Film, d.Patient = nil, nil, nil, nil }, Options{}},
		{"known", yearsOnly, func(d *Data) { d.Class, d.Film, d.Patient = nil, nil, nil }, Options{}},
		{"known_ml", yearsOnly, func(d *Data) { d.Class, d.Film, d.Patient = nil, nil, nil }, Options{ML: true}},
		{"all", byGroupAndAge, func(d *Data) { d.Class, d.Patient = nil, nil }, Options{}},
	} {
		d := erring(t, c.row)
		c.keep(&d)
		m, err := Fit(d, c.o)
		require.NoError(t, err, c.name)
		require.True(t, m.Converged, c.name)
		out[c.name] = m
	}
	return out
}

// quantity is what .ci/mixed.R calls so.
func quantity(m Model, name string) (float64, bool) {
	e, _ := m.Hip(name[len(name)-min(4, len(name)):])
	switch name {
	case "loglik":
		return m.LogLik, true
	case "sigma", "sigma_A":
		return m.Sigma, true
	case "sigma_B":
		return m.Classes[1].SD, true
	case "sd_intercept":
		return m.SDIntercept, true
	case "sd_slope":
		return m.SDSlope, true
	case "sd_film":
		return m.SDFilm, true
	case "sd_patient_intercept":
		return m.SDPatient, true
	case "sd_patient_slope":
		return m.SDPatientSlope, true
	case "intercept_" + e.Hip:
		return e.Intercept, true
	case "slope_" + e.Hip:
		return e.Slope, true
	}
	var j int
	if _, err := fmt.Sscanf(name, "b%d", &j); err == nil {
		return m.Coef[j], true
	}
	if _, err := fmt.Sscanf(name, "se%d", &j); err == nil {
		return m.Estimate(j).SE, true
	}
	return 0, false
}

// lme4 1.1-31, nlme 3.1-162, metafor 3.8-1 by .ci/mixed.R: errors by film, by class
// of readings, by patient, and known ones.
func TestErrorsAgainstR(t *testing.T) {
	_, want := columns(t, "errors_r.csv")
	models := erringModels(t)
	seen := map[string]int{}
	for _, r := range want {
		got, ok := quantity(models[r[0]], r[1])
		if !ok {
			continue
		}
		seen[r[0]]++
		v := number(t, r[2])
		if r[1] == "loglik" {
			assert.InDelta(t, v, got, 1e-6, r[0])
			continue
		}
		// Off the optimum by d, a likelihood falls by d² only: the others stop at 1e-4.
		assert.InDelta(t, v, got, 1e-4*math.Abs(v)+1e-6, "%s, %s", r[0], r[1])
	}
	for name := range models {
		assert.Greater(t, seen[name], 6, name)
	}
}

// The deviance of whole blocks: its gradient against differences, and where nothing
// is known of errors the plain model's deviance.
func TestBlocks(t *testing.T) {
	d := erring(t, byGroup)
	for _, o := range []Options{{PatientSlope: true}, {ML: true}, {Random: Uncorrelated, PatientSlope: true}, {Random: InterceptOnly}} {
		s, err := newSums(d, o)
		require.NoError(t, err)
		b, err := newBlocks(s, d, o, 0.07)
		require.NoError(t, err)
		x := make([]float64, len(b.parts.active()))
		for i := range x {
			x[i] = 0.3 + 0.1*float64(i)
		}
		f := b.deviance(o.ML)
		_, grad := f(x)
		for i := range x {
			up, down := append([]float64(nil), x...), append([]float64(nil), x...)
			up[i] += 1e-5
			down[i] -= 1e-5
			hi, _ := f(up)
			lo, _ := f(down)
			near(t, (hi-lo)/2e-5, grad[i], 1e-5, "gradient")
		}
	}
	plain := simulated(60, true, 5)
	one := plain
	one.Class = make([]string, len(plain.Hip))
	for _, o := range []Options{{}, {ML: true}, {Random: Uncorrelated}, {Random: InterceptOnly}} {
		a, err := Fit(plain, o)
		require.NoError(t, err)
		b, err := Fit(one, o)
		require.NoError(t, err)
		assert.InDelta(t, a.LogLik, b.LogLik, 1e-7)
		near(t, a.SDSlope, b.SDSlope, 1e-4, "sd of slopes")
		for j := range a.Coef {
			near(t, a.Coef[j], b.Coef[j], 1e-5, "coefficient")
			near(t, a.Estimate(j).DF, b.Estimate(j).DF, 1e-3, "df")
		}
	}
}

func TestErrorsFaults(t *testing.T) {
	for _, c := range []struct {
		name   string
		break_ func(d *Data)
		want   string
	}{
		{"negative", func(d *Data) { d.SE[3] = -1 }, "wearfit: standard error 4 is not one (-1)"},
		{"not a number", func(d *Data) { d.SE[3] = math.NaN() }, "wearfit: standard error 4 is not one (NaN)"},
		{"two baselines", func(d *Data) { d.BaseSE[1] = 9 }, "wearfit: hip P01R has two errors of its baseline film: 0.043 and 9"},
		{"short", func(d *Data) { d.Class = d.Class[1:] }, "wearfit: columns differ in length: 182 times, 183 values, 0 weights"},
		{"no repeats", func(d *Data) {
			for i := range d.Film {
				d.Film[i] = fmt.Sprint(i)
			}
		}, ErrRepeats.Error()},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := erring(t, byGroup)
			c.break_(&d)
			_, err := Fit(d, Options{})
			require.EqualError(t, err, c.want)
		})
	}
	d := simulated(3, false, 1)
	many := Data{Fixed: [][]float64{nil}}
	for i := range 2 * mostRows {
		many.Hip, many.Time, many.Value = append(many.Hip, fmt.Sprint(i%3/2)), append(many.Time, float64(i%7)), append(many.Value, math.Sin(float64(i)))
		many.Fixed[0] = append(many.Fixed[0], 1)
	}
	var large *ManyError
	_, err := Fit(many, Options{Random: InterceptOnly})
	require.ErrorAs(t, err, &large)
	_, err = Fit(d, Options{Random: InterceptOnly})
	require.NoError(t, err)
	var first *wearfit.LengthError
	d.Film = []string{"a"}
	_, err = Fit(d, Options{})
	require.ErrorAs(t, err, &first)
}
