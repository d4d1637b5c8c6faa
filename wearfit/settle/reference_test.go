package settle

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lines reads a file of testdata without its heading.
func lines(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// films reads a table of hip, years and value.
func films(t *testing.T, file string) Data {
	var d Data
	for _, r := range lines(t, file) {
		d.Hip, d.Time, d.Value = append(d.Hip, r[0]), append(d.Time, number(t, r[1])), append(d.Value, number(t, r[2]))
	}
	return d
}

// nlme 3.1-162 by REML in R 4.2.2 on the same films: levels fixed, bedding-in and
// rate correlated, ln tau beside them. It makes the curve straight around each hip's
// mode instead of integrating, which the spread of ln tau feels.
var byNlme = struct{ creep, creepSE, rate, rateSE, logTau, sdCreep, sdRate, corr, sdTau, sigma float64 }{
	0.137731595, 0.009585895, 0.064592362, 0.005463489, -0.850179126, 0.04498565, 0.03412880, 0.2861171406, 0.25010932, 0.031491148,
}

func TestNlme(t *testing.T) {
	c, err := Fit(films(t, "cohort_40x8.csv"), Options{})
	require.NoError(t, err)
	n := byNlme
	assert.InDelta(t, n.creep, c.Creep[0], 0.4*n.creepSE)
	assert.InDelta(t, n.rate, c.Rate[0], 0.1*n.rateSE)
	// nlme takes the spread of ln tau as known; the chain's SD of bedding-in's mean is
	// 0.0110, of the rate's 0.0058.
	assert.Less(t, n.creepSE, c.Estimate(0).SE)
	assert.InEpsilon(t, 0.0110, c.Estimate(0).SE, 0.03)
	assert.InEpsilon(t, n.rateSE, c.Estimate(1).SE, 0.02)
	assert.InDelta(t, n.logTau, math.Log(c.Tau), 0.1)
	assert.InEpsilon(t, n.sdCreep, c.SDCreep, 0.02)
	assert.InEpsilon(t, n.sdRate, c.SDRate, 0.02)
	assert.InEpsilon(t, n.sigma, c.Sigma, 0.02)
	assert.Less(t, n.sdTau, c.SDLogTau)

	// The likelihood that is integrated, not made straight, is higher here.
	m, k := c.model, c.model.fixed()
	x := append([]float64(nil), c.x...)
	v := x[k:]
	v[l00], v[l10], v[l11] = n.sdCreep/m.mm, n.corr*n.sdRate/m.mm*m.years, math.Sqrt(1-n.corr*n.corr)*n.sdRate/m.mm*m.years
	v[omega], v[sigma] = unbounded(n.sdTau, -mostOmega, mostOmega), n.sigma/m.mm
	_, there := c.split.laplace(x, &c.bent)
	_, here := c.split.laplace(append([]float64(nil), c.x...), &c.bent)
	t.Logf("restricted log-likelihood %.3f above that at nlme's variances", here-there)
	assert.Greater(t, here, there)
}

// What 60,000 draws of a Markov chain tell, each level, bedding-in, rate and time
// constant a parameter of its own: R 4.2.2, rjags 4-13, JAGS 4.3.1, the same prior.
func TestChain(t *testing.T) {
	d := films(t, "cohort_40x8.csv")
	c, err := Fit(d, Options{})
	require.NoError(t, err)
	b, err := c.Believe(1)
	require.NoError(t, err)
	// A hip's interval is of parts, the cohort's of some 600 draws, which place its ends to
	// a twentieth of its width.
	check := func(r []string, got Between, share float64) {
		lo, median, hi := number(t, r[2]), number(t, r[3]), number(t, r[4])
		tol := share * (hi - lo)
		assert.InDelta(t, lo, got.Lo, tol, "%s %s", r[0], r[1])
		assert.InDelta(t, median, got.Value, tol, "%s %s", r[0], r[1])
		assert.InDelta(t, hi, got.Hi, tol, "%s %s", r[0], r[1])
	}
	for _, r := range lines(t, "cohort_40x8_chain.csv") {
		if r[0] == "cohort" {
			check(r, b.Fixed(map[string]int{"creep": 0, "rate": 1}[r[1]], 0.95), 0.15)
			continue
		}
		h, ok := b.Hip(r[0])
		require.True(t, ok)
		switch r[1] {
		case "creep":
			check(r, h.Creep(0.95), 0.06)
		case "rate":
			check(r, h.Rate(0.95), 0.06)
		case "at5":
			check(r, h.Since(0, 5, 0.95), 0.06)
		}
	}
}

// A hip that the cohort has not seen is what it would be in the cohort.
func TestChainNewHip(t *testing.T) {
	d := films(t, "cohort_40x8.csv")
	var rest Data
	f := Films{Hip: "h07"}
	for i, h := range d.Hip {
		if h == f.Hip {
			f.Time, f.Value = append(f.Time, d.Time[i]), append(f.Value, d.Value[i])
			continue
		}
		rest.Hip, rest.Time, rest.Value = append(rest.Hip, h), append(rest.Time, d.Time[i]), append(rest.Value, d.Value[i])
	}
	c, err := Fit(rest, Options{})
	require.NoError(t, err)
	b, err := c.Believe(1)
	require.NoError(t, err)
	h, err := b.Course(f)
	require.NoError(t, err)
	assert.Equal(t, 39, h.Hips)
	for _, r := range lines(t, "cohort_40x8_chain.csv") {
		if r[0] == f.Hip && r[1] == "rate" {
			got := h.Rate(0.95)
			tol := 0.06 * (number(t, r[4]) - number(t, r[2]))
			assert.InDelta(t, number(t, r[2]), got.Lo, tol)
			assert.InDelta(t, number(t, r[3]), got.Value, tol)
			assert.InDelta(t, number(t, r[4]), got.Hi, tol)
			return
		}
	}
	t.Fatal("the hip is not in the reference")
}
