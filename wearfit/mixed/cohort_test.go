package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// 300 simulated hips of two liner groups; lme4 1.1-31.
func TestMixedCohort(t *testing.T) {
	var ref struct {
		Groups          lmer
		GroupsML        lmer `json:"groups_ml"`
		Pooled          lmer
		PooledML        lmer                       `json:"pooled_ml"`
		RandomIntercept lmer                       `json:"random_intercept"`
		LR              struct{ Chisq, P float64 } `json:"likelihood_ratio_liner_by_years_ml"`
	}
	reference(t, "cohort_300.json", &ref)
	groups := mixedTable(t, "cohort_300.csv", "hip", "years", "penetration", "liner", "crosslinked")
	groups.Names = []string{"(Intercept)", "years", "linercrosslinked", "years:linercrosslinked"}
	pooled := mixedTable(t, "cohort_300.csv", "hip", "years", "penetration", "", "")
	for _, c := range []struct {
		name string
		d    Data
		o    Options
		want lmer
	}{
		{"groups", groups, Options{}, ref.Groups},
		{"groups ML", groups, Options{ML: true}, ref.GroupsML},
		{"pooled", pooled, Options{}, ref.Pooled},
		{"pooled ML", pooled, Options{ML: true}, ref.PooledML},
		{"random intercept", groups, Options{Random: InterceptOnly}, ref.RandomIntercept},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := Fit(c.d, c.o)
			require.NoError(t, err)
			assert.Equal(t, 300, m.Hips)
			c.want.check(t, m, "years")
		})
	}
	larger, err := Fit(groups, Options{ML: true})
	require.NoError(t, err)
	groups.Fixed, groups.Names = groups.Fixed[:3], groups.Names[:3]
	smaller, err := Fit(groups, Options{ML: true})
	require.NoError(t, err)
	l, err := LikelihoodRatio(larger, smaller)
	require.NoError(t, err)
	assert.InDelta(t, ref.LR.Chisq, l.Statistic, 1e-4)
	near(t, ref.LR.P, l.P, 1e-3, "p")
	assert.Equal(t, 1, l.DF)
	_, err = LikelihoodRatio(smaller, larger)
	require.ErrorIs(t, err, ErrNotNested)
}

// The slope variance at its limit, where another program does not converge.
func TestMixedBoundary(t *testing.T) {
	var ref struct {
		Slope        lmer `json:"random_slope_reml"`
		Intercept    lmer `json:"random_intercept_reml"`
		Uncorrelated struct {
			SD     []float64 `json:"random_sd"`
			LogLik float64
		} `json:"uncorrelated_reml"`
	}
	reference(t, "boundary.json", &ref)
	d := mixedTable(t, "boundary.csv", "hip", "years", "penetration", "", "")
	m, err := Fit(d, Options{})
	require.NoError(t, err)
	ref.Slope.check(t, m, "years")
	assert.InDelta(t, -1, m.Corr, 1e-6)
	m, err = Fit(d, Options{Random: InterceptOnly})
	require.NoError(t, err)
	ref.Intercept.check(t, m, "years")
	m, err = Fit(d, Options{Random: Uncorrelated})
	require.NoError(t, err)
	assert.InDelta(t, ref.Uncorrelated.LogLik, m.LogLik, 1e-6)
	near(t, ref.Uncorrelated.SD[0], m.SDIntercept, 1e-4, "sd of the intercept")
	assert.InDelta(t, 0, m.SDSlope, 1e-6)
	assert.True(t, m.Singular)
}

// simulated returns hips of six films, two in each patient where asked.
func simulated(hips int, patients bool, seed uint64) Data {
	r := rand.New(rand.NewPCG(seed, 1))
	d := Data{Fixed: make([][]float64, 4), Names: []string{"intercept", "years", "group", "years:group"}}
	var shared float64
	for h := range hips {
		if h%2 == 0 {
			shared = 0.05 * r.NormFloat64()
		}
		a, b, g := 0.08*r.NormFloat64(), 0.03*r.NormFloat64(), float64(h%2)
		if patients {
			a += shared
			d.Patient = append(d.Patient, make([]string, 6)...)
		}
		for k := range 6 {
			if patients {
				d.Patient[6*h+k] = fmt.Sprintf("P%d", h/2)
			}
			x := float64(k+1)*1.5 + r.Float64()
			d.Hip = append(d.Hip, fmt.Sprintf("H%d", h))
			d.Time = append(d.Time, x)
			d.Value = append(d.Value, 0.1+a+(0.1-0.07*g+b)*x+0.06*r.NormFloat64())
			for j, v := range []float64{1, x, g, g * x} {
				d.Fixed[j] = append(d.Fixed[j], v)
			}
		}
	}
	return d
}

// dense returns the log-likelihood from the whole covariance matrix of the
// films, the long way.
func dense(m Model) float64 {
	d, n, p := m.data, m.N, len(m.Coef)
	a, b, c := m.RandomCov()
	v := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			var s float64
			if i == j {
				s = m.Sigma * m.Sigma
			}
			if d.Hip[i] == d.Hip[j] {
				s += a + b*(d.Time[i]+d.Time[j]) + c*d.Time[i]*d.Time[j]
			}
			if d.Patient != nil && d.Patient[i] == d.Patient[j] {
				s += m.SDPatient * m.SDPatient
			}
			v.SetSym(i, j, s)
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(v) {
		return math.NaN()
	}
	x := mat.NewDense(n, p, nil)
	for j, col := range d.Fixed {
		x.SetCol(j, col)
	}
	var vx, xvx, xvy, beta mat.Dense
	_ = ch.SolveTo(&vx, x)
	xvx.Mul(x.T(), &vx)
	xvy.Mul(vx.T(), mat.NewVecDense(n, d.Value))
	_ = beta.Solve(&xvx, &xvy)
	var fit, vr mat.VecDense
	fit.MulVec(x, beta.ColView(0))
	fit.SubVec(mat.NewVecDense(n, d.Value), &fit)
	_ = ch.SolveVecTo(&vr, &fit)
	ll := ch.LogDet() + mat.Dot(&fit, &vr) + float64(n)*math.Log(2*math.Pi)
	if !m.Options.ML {
		ll += math.Log(mat.Det(&xvx)) - float64(p)*math.Log(2*math.Pi)
	}
	return -ll / 2
}

// Hips within patients: the likelihood by sums agrees with the whole
// covariance matrix, and no neighbouring parameter does better.
func TestMixedPatients(t *testing.T) {
	d := simulated(60, true, 5)
	for _, o := range []Options{{}, {ML: true}, {Random: Uncorrelated}, {Random: InterceptOnly}} {
		m, err := Fit(d, o)
		require.NoError(t, err)
		assert.True(t, m.Converged)
		assert.Equal(t, 30, m.Patients)
		assert.Equal(t, 60, m.Hips)
		assert.Positive(t, m.SDPatient)
		best := dense(m)
		assert.InDelta(t, best, m.LogLik, 1e-7)
		for j := range m.stats.free {
			for _, f := range []float64{0.98, 1.02} {
				th := m.at.th
				th[m.stats.free[j]] *= f
				assert.Greater(t, m.stats.eval(th, o.ML).dev, m.at.dev)
			}
		}
		lone, err := Fit(Data{Hip: d.Hip, Time: d.Time, Value: d.Value, Fixed: d.Fixed, Names: d.Names}, o)
		require.NoError(t, err)
		assert.Less(t, lone.LogLik, m.LogLik)
	}
}

// The error of a shrunken line, the long way: from the covariance of all films of
// the hip's patient with what is predicted.
func TestMixedShrinkPatients(t *testing.T) {
	d := simulated(60, true, 5)
	d.Hip[0], d.Hip[1], d.Hip[2] = "H1", "H1", "H1" // uneven numbers of films
	m, err := Fit(d, Options{})
	require.NoError(t, err)
	a, b, c := m.RandomCov()
	tau2 := m.SDPatient * m.SDPatient
	require.Positive(t, tau2)
	for _, e := range m.Effects()[:6] {
		var rows []int
		who := ""
		for i, h := range d.Hip {
			if h == e.Hip {
				who = d.Patient[i]
			}
		}
		for i, p := range d.Patient {
			if p == who {
				rows = append(rows, i)
			}
		}
		n := len(rows)
		v, x := mat.NewSymDense(n, nil), mat.NewDense(n, 4, nil)
		with := [2]*mat.VecDense{mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)} // intercept, rate
		for i, r := range rows {
			for j := range 4 {
				x.Set(i, j, d.Fixed[j][r])
			}
			with[0].SetVec(i, tau2)
			if d.Hip[r] == e.Hip {
				with[0].SetVec(i, tau2+a+b*d.Time[r])
				with[1].SetVec(i, b+c*d.Time[r])
			}
			for j := i; j < n; j++ {
				q := rows[j]
				s := tau2
				if d.Hip[r] == d.Hip[q] {
					s += a + b*(d.Time[r]+d.Time[q]) + c*d.Time[r]*d.Time[q]
				}
				if i == j {
					s += m.Sigma * m.Sigma
				}
				v.SetSym(i, j, s)
			}
		}
		var ch mat.Cholesky
		require.True(t, ch.Factorize(v))
		g := 0.0
		if e.Hip[len(e.Hip)-1]%2 == 1 {
			g = 1
		}
		s := m.Shrink(e, []float64{1, 0, g, 0}, []float64{0, 1, 0, g})
		for k, got := range []wearfit.Estimate{s.Intercept, s.Rate} {
			var vc, fixed mat.VecDense
			require.NoError(t, ch.SolveVecTo(&vc, with[k]))
			fixed.MulVec(x.T(), &vc)
			own := [][]float64{{1, 0, g, 0}, {0, 1, 0, g}}[k]
			for j := range own {
				own[j] -= fixed.AtVec(j)
			}
			want := []float64{tau2 + a, c}[k] - mat.Dot(with[k], &vc) + form(m.Cov, own)
			near(t, math.Sqrt(want), got.SE, 1e-6, "error of prediction of "+e.Hip)
		}
	}
}

// The analytic gradient against differences of the deviance.
func TestMixedGradient(t *testing.T) {
	s, err := newSums(simulated(40, true, 8), Options{})
	require.NoError(t, err)
	th := factor{0.9, -0.2, 0.5, 0.4}
	for _, ml := range []bool{true, false} {
		p := s.eval(th, ml)
		for j := range th {
			up, down := th, th
			up[j] += 1e-5
			down[j] -= 1e-5
			near(t, (s.eval(up, ml).dev-s.eval(down, ml).dev)/2e-5, p.grad[j], 1e-6, "gradient")
		}
	}
}

// The intervals of shrunken rates hold the hips' true rates as often as they
// say, and the residuals add up.
func TestMixedShrink(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	hit, total, closer := 0, 0, 0
	for range 8 {
		d := Data{Fixed: make([][]float64, 2), Names: []string{"intercept", "years"}}
		truth := map[string]float64{}
		for h := range 80 {
			name := fmt.Sprintf("H%d", h)
			b := 0.1 + 0.03*r.NormFloat64()
			a := 0.1 + 0.05*r.NormFloat64()
			truth[name] = b
			for _, x := range []float64{1, 2, 5} {
				d.Hip, d.Time = append(d.Hip, name), append(d.Time, x)
				d.Value = append(d.Value, a+b*x+0.08*r.NormFloat64())
				d.Fixed[0], d.Fixed[1] = append(d.Fixed[0], 1), append(d.Fixed[1], x)
			}
		}
		m, err := Fit(d, Options{Random: Uncorrelated})
		require.NoError(t, err)
		for i, e := range m.Effects() {
			s := m.Shrink(e, []float64{1, 0}, []float64{0, 1})
			total++
			if s.Rate.Interval(0.95).Contains(truth[s.Hip]) {
				hit++
			}
			own, err := wearfit.FitLine(d.Time[3*i:3*i+3], d.Value[3*i:3*i+3], nil)
			require.NoError(t, err)
			if math.Abs(s.Rate.Value-truth[s.Hip]) < math.Abs(own.Slope-truth[s.Hip]) {
				closer++
			}
		}
		res := m.Residuals()
		require.Len(t, res, m.N)
	}
	t.Logf("covered %.3f, closer than the hip's own line in %.3f of %d", float64(hit)/float64(total), float64(closer)/float64(total), total)
	// 640 hips: two standard errors are 0.017; the variances are estimated.
	assert.InDelta(t, 0.95, float64(hit)/float64(total), 0.03)
	assert.Greater(t, closer, total/2)
}

func TestMixedFaults(t *testing.T) {
	d := simulated(3, false, 1)
	one := Data{Hip: d.Hip[:6], Time: d.Time[:6], Value: d.Value[:6], Fixed: [][]float64{d.Fixed[0][:6]}}
	_, err := Fit(one, Options{})
	require.ErrorIs(t, err, ErrOneHip)
	d.Fixed[3] = d.Fixed[1]
	_, err = Fit(d, Options{})
	require.ErrorIs(t, err, wearfit.ErrRank)
	d.Fixed = nil
	_, err = Fit(d, Options{})
	require.ErrorIs(t, err, wearfit.ErrRank)
	d = simulated(4, true, 1)
	d.Patient[1] = "P9"
	var nest *NestError
	_, err = Fit(d, Options{})
	require.ErrorAs(t, err, &nest)
	d.Hip = d.Hip[:3]
	var length *wearfit.LengthError
	_, err = Fit(d, Options{})
	require.ErrorAs(t, err, &length)
	d = simulated(4, false, 1)
	for i := range d.Value {
		d.Value[i] = 2 * d.Time[i]
	}
	_, err = Fit(d, Options{})
	require.ErrorIs(t, err, wearfit.ErrNoScatter)
	var first Data
	d = simulated(9, false, 1)
	for i := 0; i < len(d.Hip); i += 6 {
		first.Hip, first.Time, first.Value = append(first.Hip, d.Hip[i]), append(first.Time, d.Time[i]), append(first.Value, d.Value[i])
	}
	first.Fixed = [][]float64{ones(9)}
	_, err = Fit(first, Options{Random: InterceptOnly})
	require.ErrorIs(t, err, ErrFilmsPerHip)
}

func BenchmarkFitMixed(b *testing.B) {
	for _, hips := range []int{1000, 10_000, 100_000} {
		d := simulated(hips, false, 3)
		b.Run(fmt.Sprintf("%d hips x 6 films", hips), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Fit(d, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
