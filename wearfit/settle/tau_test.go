package settle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// grouped reads the films of two groups of hips, with columns that tell the second apart.
func grouped(t *testing.T) Data {
	var d Data
	var ones, late []float64
	for _, r := range lines(t, "groups_40x8.csv") {
		d.Hip, d.Time, d.Value = append(d.Hip, r[0]), append(d.Time, number(t, r[1])), append(d.Value, number(t, r[2]))
		ones, late = append(ones, 1), append(late, number(t, r[3]))
	}
	d.Creep, d.Rate, d.Tau = [][]float64{ones, late}, [][]float64{ones, late}, [][]float64{late}
	return d
}

// nlme 3.1-162 by REML in R 4.2.2: nlme(mm ~ c + B*(1 - exp(-years/exp(lt))) + w*years, fixed
// = list(c ~ hip - 1, B ~ late, w ~ late, lt ~ late), random of B and w correlated, lt beside
// them). It makes the curve straight around each hip's mode and takes what varies as known,
// so that its errors are smaller.
func TestTauByGroup(t *testing.T) {
	c, err := Fit(grouped(t), Options{})
	require.NoError(t, err)
	require.Len(t, c.LogTau, 1)
	require.Len(t, c.SETau, 1)
	for j, n := range []struct{ value, se float64 }{{0.19727862, 0.00867566}, {0.08343882, 0.01289932}, {0.06039612, 0.00360193}, {-0.01685080, 0.00515577}} {
		e := c.Estimate(j)
		assert.InDelta(t, n.value, e.Value, 0.3*n.se)
		assert.InEpsilon(t, n.se, e.SE, 0.1)
	}
	assert.InDelta(t, 0.85210436, c.LogTau[0], 0.3*0.12616733)
	assert.InEpsilon(t, 0.12616733, c.SETau[0], 0.15)
	// The middle hip lies between the groups, which have 20 hips each.
	assert.InDelta(t, -1.00757252+0.85210436/2, math.Log(c.Tau), 0.05)

	// The likelihood that it has is higher than one's without the column.
	d := grouped(t)
	d.Tau = nil
	less, err := Fit(d, Options{})
	require.NoError(t, err)
	assert.Empty(t, less.LogTau)
	assert.Greater(t, c.LogLik, less.LogLik+5)
}

// The unit of a column of the time constant makes no difference, and a hip that the cohort has
// not seen has its own.
func TestTauColumnUnit(t *testing.T) {
	d := grouped(t)
	c, err := Fit(d, Options{})
	require.NoError(t, err)
	tenfold := make([]float64, len(d.Hip))
	for i, v := range d.Tau[0] {
		tenfold[i] = 50 + 10*v
	}
	d.Tau = [][]float64{tenfold}
	x, err := Fit(d, Options{})
	require.NoError(t, err)
	assert.InEpsilon(t, c.LogTau[0], 10*x.LogTau[0], 1e-5)
	assert.InEpsilon(t, c.SETau[0], 10*x.SETau[0], 1e-4)
	assert.InDelta(t, c.LogLik, x.LogLik, 1e-5)

	b, err := x.Believe(1)
	require.NoError(t, err)
	f := Films{Hip: "new", Time: []float64{0, 1, 4}, Value: []float64{0, 0.2, 0.35}, Creep: []float64{1, 1}, Rate: []float64{1, 1}}
	_, err = b.Course(f)
	require.ErrorIs(t, err, ErrRow)
	f.Tau = []float64{60}
	slow, err := b.Course(f)
	require.NoError(t, err)
	f.Tau = []float64{50}
	quick, err := b.Course(f)
	require.NoError(t, err)
	assert.Less(t, quick.Creep(0.95).Value, slow.Creep(0.95).Value)
	d.Tau = [][]float64{make([]float64, len(d.Hip))}
	_, err = Fit(d, Options{})
	require.ErrorIs(t, err, ErrColumns)
}

// What is told the search is the slope of the likelihood.
func TestTauGradient(t *testing.T) {
	c, err := Fit(grouped(t), Options{})
	require.NoError(t, err)
	th := append([]float64(nil), c.th...)
	j := len(th) - 1
	th[j] += 0.1
	_, g := c.model.value(th)
	const h = 1e-5
	var v [2]float64
	for i, s := range []float64{-1, 1} {
		at := append([]float64(nil), th...)
		at[j] += s * h
		v[i], _ = c.model.value(at)
	}
	assert.InEpsilon(t, (v[1]-v[0])/(2*h), g[j], 1e-5)
}
