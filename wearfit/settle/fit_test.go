package settle

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
)

// An offset of a hip's own changes nothing, other units only the units.
func TestUnits(t *testing.T) {
	d := unequal(usual.drawn(12, sixFilms, 5))
	a, err := Fit(d, Options{})
	require.NoError(t, err)
	const mm, years = 7.0, 12.0 // such as months
	other := d
	other.Time, other.Value, other.SE = nil, nil, nil
	for i := range d.Value {
		other.Time = append(other.Time, years*d.Time[i])
		other.Value = append(other.Value, mm*(d.Value[i]+float64(len(d.Hip[i]))*3+float64(d.Hip[i][1]-'0')))
		other.SE = append(other.SE, mm*d.SE[i])
	}
	b, err := Fit(other, Options{})
	require.NoError(t, err)
	for what, v := range map[string][3]float64{
		"bedding-in":     {a.Creep[0], b.Creep[0], mm},
		"rate":           {a.Rate[0], b.Rate[0], mm / years},
		"group":          {a.Rate[1], b.Rate[1], mm / years},
		"time constant":  {a.Tau, b.Tau, years},
		"scatter":        {a.Sigma, b.Sigma, mm},
		"SD bedding-in":  {a.SDCreep, b.SDCreep, mm},
		"SD rate":        {a.SDRate, b.SDRate, mm / years},
		"SE bedding-in":  {a.Estimate(0).SE, b.Estimate(0).SE, mm},
		"SE of group":    {a.Estimate(2).SE, b.Estimate(2).SE, mm / years},
		"DF of group":    {a.Estimate(2).DF, b.Estimate(2).DF, 1},
		"log-likelihood": {a.LogLik, b.LogLik + float64(len(d.Value)-12)*math.Log(mm), 1},
	} {
		assert.InEpsilon(t, v[0]*v[2], v[1], 1e-4, what)
	}
}

// Columns in another form give the same model.
func TestColumns(t *testing.T) {
	d := unequal(usual.drawn(14, sixFilms, 6))
	a, err := Fit(d, Options{})
	require.NoError(t, err)
	ages := slices.Clone(d.Rate[1]) // far from 0, as an age is
	for i := range ages {
		ages[i] = 60 + 5*ages[i]
	}
	d.Rate = [][]float64{d.Rate[0], ages}
	b, err := Fit(d, Options{})
	require.NoError(t, err)
	assert.InDelta(t, a.LogLik, b.LogLik, 1e-6)
	assert.InEpsilon(t, a.Rate[1]/5, b.Rate[1], 1e-6)
	assert.InEpsilon(t, a.Estimate(2).SE/5, b.Estimate(2).SE, 1e-6)
	assert.InEpsilon(t, a.Rate[0], b.Combine([]float64{0, 1, 60}).Value, 1e-6)
}

// Many hips give back what they were drawn from.
func TestManyHips(t *testing.T) {
	c, err := Fit(usual.drawn(1500, sixFilms, 8), Options{})
	require.NoError(t, err)
	assert.True(t, c.Converged && c.Low && c.High && !c.Boundary)
	within := func(want, got, se float64, what string) { assert.InDelta(t, want, got, 4*se, what) }
	within(usual.creep, c.Creep[0], c.Estimate(0).SE, "bedding-in")
	within(usual.rate, c.Rate[0], c.Estimate(1).SE, "rate")
	within(math.Log(usual.tau), math.Log(c.Tau), c.SELogTau, "time constant")
	assert.InEpsilon(t, usual.sd, c.Sigma, 0.04)
	assert.InEpsilon(t, usual.sdCreep, c.SDCreep, 0.1)
	assert.InEpsilon(t, usual.sdRate, c.SDRate, 0.1)
	assert.InEpsilon(t, usual.sdTau, c.SDLogTau, 0.3)
	assert.InDelta(t, usual.corr, c.Corr, 0.15)
	e := c.Estimate(1)
	assert.InEpsilon(t, usual.sdRate/math.Sqrt(1500), e.SE, 0.1, "the rate's error is little more than that of as many known rates")
	assert.Greater(t, e.DF, 500.0)
}

// What the films do not tell is said.
func TestNotTold(t *testing.T) {
	late := usual.drawn(20, []float64{0, 2, 3, 5, 8, 10}, 1)
	c, err := Fit(late, Options{})
	require.NoError(t, err)
	assert.False(t, c.Low, "bedding-in is over before the first film but the baseline")
	assert.True(t, c.High)
	assert.Zero(t, c.TauInterval(0.95).Lo)
	assert.InDelta(t, usual.creep, c.Creep[0], 4*c.Estimate(0).SE, "its size is told all the same")

	after := usual.drawn(20, []float64{3, 4, 5, 6, 8, 10}, 1) // no baseline
	c, err = Fit(after, Options{})
	require.NoError(t, err)
	assert.False(t, c.High, "it may as well last as long as the films")
	assert.True(t, math.IsInf(c.TauInterval(0.95).Hi, 1))
	assert.True(t, c.Estimate(0).Interval(0.95).Open())
	assert.Equal(t, 1.0, c.Estimate(1).P(0))
}

// The same seed gives the same course; a wider level a wider interval.
func TestBelief(t *testing.T) {
	c, err := Fit(usual.drawn(9, sixFilms, 4), Options{Uncorrelated: true})
	require.NoError(t, err)
	assert.Zero(t, c.Corr)
	a, err := c.Believe(3)
	require.NoError(t, err)
	b, err := c.Believe(3)
	require.NoError(t, err)
	assert.Greater(t, a.Effective, 100.0)
	h, ok := a.Hip("h2")
	require.True(t, ok)
	same, ok := b.Hip("h2")
	require.True(t, ok)
	assert.Equal(t, h.Creep(0.95), same.Creep(0.95))
	narrow, wide := h.Rate(0.5), h.Rate(0.95)
	assert.True(t, wide.Lo < narrow.Lo && narrow.Lo < narrow.Value && narrow.Value < narrow.Hi && narrow.Hi < wide.Hi)
	assert.Equal(t, narrow.Value, wide.Value)
	assert.Zero(t, h.Since(2, 2, 0.95).Value)
	at, next := h.At(5, 0.95), h.Next(5, 0.05, 0.95)
	assert.Less(t, next.Lo, at.Lo)
	_, ok = a.Hip("nobody")
	assert.False(t, ok)
}

// A hip without a film after its first is what the cohort says; more films draw
// it to its own.
func TestNewHip(t *testing.T) {
	c, err := Fit(usual.drawn(60, sixFilms, 2), Options{})
	require.NoError(t, err)
	b, err := c.Believe(1)
	require.NoError(t, err)
	one, err := b.Course(Films{Hip: "new", Time: []float64{0}, Value: []float64{0}})
	require.NoError(t, err)
	rate := one.Rate(0.95)
	assert.InDelta(t, c.Rate[0], rate.Value, 0.005)
	assert.InEpsilon(t, 2*1.96*c.SDRate, rate.Hi-rate.Lo, 0.2)
	assert.Equal(t, 60, one.Hips)
	fast := Films{Hip: "new", Time: []float64{0, 0.5, 1, 2, 4, 8}}
	for _, t := range fast.Time {
		fast.Value = append(fast.Value, 0.15*(1-math.Exp(-t/0.5))+0.12*t)
	}
	all, err := b.Course(fast)
	require.NoError(t, err)
	own := all.Rate(0.95)
	assert.InDelta(t, 0.12, own.Value, 0.01)
	assert.Less(t, own.Hi-own.Lo, (rate.Hi-rate.Lo)/3)
	assert.Less(t, all.Draws, one.Draws)
}

// What cannot be fitted is refused with one line.
func TestRefused(t *testing.T) {
	good := usual.drawn(6, sixFilms, 1)
	with := func(change func(d *Data)) Data {
		d := Data{Hip: slices.Clone(good.Hip), Time: slices.Clone(good.Time), Value: slices.Clone(good.Value)}
		change(&d)
		return d
	}
	ones := make([]float64, len(good.Value))
	for i := range ones {
		ones[i] = 1
	}
	var (
		few    *wearfit.TooFewError
		times  *wearfit.TooFewTimesError
		length *wearfit.LengthError
		number *wearfit.NonFiniteError
		change *ChangeError
		se     *ReadingError
	)
	for name, c := range map[string]struct {
		d    Data
		want any
	}{
		"nothing":             {Data{}, ErrOneHip},
		"one row":             {Data{Hip: []string{"a"}, Time: []float64{0}, Value: []float64{0}}, ErrOneHip},
		"NaN":                 {with(func(d *Data) { d.Value[3] = math.NaN() }), &number},
		"infinite time":       {with(func(d *Data) { d.Time[3] = math.Inf(1) }), &number},
		"columns differ":      {with(func(d *Data) { d.Time = d.Time[1:] }), &length},
		"errors differ":       {with(func(d *Data) { d.SE = []float64{1} }), &length},
		"negative error":      {with(func(d *Data) { d.SE = slices.Clone(ones); d.SE[2] = -1 }), &se},
		"before surgery":      {with(func(d *Data) { d.Time[0] = -0.1 }), wearfit.ErrBeforeSurgery},
		"one hip":             {with(func(d *Data) { clear(d.Hip) }), ErrOneHip},
		"all equal":           {with(func(d *Data) { clear(d.Value) }), wearfit.ErrNoScatter},
		"all at one time":     {with(func(d *Data) { copy(d.Time, ones) }), &times},
		"two films each":      {usual.drawn(30, []float64{0, 5}, 1), ErrTwoTimes},
		"two hips, few films": {usual.drawn(2, []float64{0, 1, 2, 5}, 1), &few},
		"far too large":       {with(func(d *Data) { d.Value[0] = 1e300 }), wearfit.ErrRange},
		"column within a hip": {with(func(d *Data) { d.Rate = [][]float64{ones, d.Time} }), &change},
		"the same column":     {with(func(d *Data) { d.Rate = [][]float64{ones, ones} }), ErrColumns},
		"a group of no hip":   {with(func(d *Data) { d.Creep = [][]float64{ones, make([]float64, len(ones))} }), ErrColumns},
		"no columns":          {with(func(d *Data) { d.Creep = [][]float64{} }), ErrColumns},
	} {
		_, err := Fit(c.d, Options{})
		require.Error(t, err, name)
		assert.Regexp(t, `^(settle|wearfit): [^\n]+$`, err.Error())
		if target, ok := c.want.(error); ok {
			assert.ErrorIs(t, err, target, name)
			continue
		}
		assert.ErrorAs(t, err, c.want, name)
	}
}

// A new hip's films are looked at as a cohort's are.
func TestNewHipRefused(t *testing.T) {
	c, err := Fit(usual.drawn(6, sixFilms, 1), Options{})
	require.NoError(t, err)
	b, err := c.Believe(1)
	require.NoError(t, err)
	for name, f := range map[string]Films{
		"no films":             {},
		"lengths":              {Time: []float64{0, 1}, Value: []float64{0}},
		"NaN":                  {Time: []float64{0, 1}, Value: []float64{0, math.NaN()}},
		"before surgery":       {Time: []float64{-1, 1}, Value: []float64{0, 1}},
		"columns":              {Time: []float64{0, 1}, Value: []float64{0, 1}, Rate: []float64{1, 0}},
		"errors counted twice": {Time: []float64{0, 1}, Value: []float64{0, 1}, SE: []float64{0.1, 0.1}},
	} {
		_, err := b.Course(f)
		require.Error(t, err, name)
		assert.Regexp(t, `^(settle|wearfit): [^\n]+$`, err.Error())
	}
}

// A cohort whose readings have known errors needs those of a new hip's, and weighs
// its films by them.
func TestNewHipErrors(t *testing.T) {
	d := unequal(usual.drawn(20, sixFilms, 3))
	d.Rate = nil
	c, err := Fit(d, Options{})
	require.NoError(t, err)
	b, err := c.Believe(1)
	require.NoError(t, err)
	f := Films{Time: []float64{0, 1, 2, 5}, Value: []float64{0, 0.2, 0.3, 0.6}}
	_, err = b.Course(f)
	require.ErrorIs(t, err, ErrReadings)
	var width [2]float64
	for i, se := range []float64{0.01, 0.2} {
		f.SE = []float64{se, se, se, se}
		h, err := b.Course(f)
		require.NoError(t, err)
		r := h.Rate(0.95)
		width[i] = r.Hi - r.Lo
	}
	assert.Less(t, 2*width[0], width[1])
}

// Whatever the numbers, a fit is finite or refused.
func FuzzFit(f *testing.F) {
	f.Add(0.1, 0.2, 0.3, 0.5, 1.0, 0.01)
	f.Add(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
	f.Add(1e150, -1e150, 1e-150, 5.0, 1e-300, 1e300)
	f.Add(math.NaN(), 1.0, math.Inf(1), 2.0, 0.0, -1.0)
	f.Fuzz(func(t *testing.T, a, b, c, time, scale, se float64) {
		var d Data
		for h, name := range []string{"a", "b", "c"} {
			for i, s := range []float64{0, 0.3, 1, 2, 5} {
				d.Hip, d.Time = append(d.Hip, name), append(d.Time, s*time)
				d.Value = append(d.Value, scale*(a+b*math.Sin(float64(7*h+i))+c*s*float64(h+1)))
				d.SE = append(d.SE, se*float64(i))
			}
		}
		m, err := Fit(d, Options{})
		if err != nil {
			assert.Regexp(t, `^(settle|wearfit): [^\n]+$`, err.Error())
			return
		}
		for _, v := range []float64{m.Creep[0], m.Rate[0], m.Tau, m.SDLogTau, m.SDCreep, m.SDRate, m.Corr, m.Sigma, m.LogLik, m.SELogTau} {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", m)
		}
	})
}

// 10,000 hips of six films.
func BenchmarkFit(b *testing.B) {
	d := usual.drawn(10_000, sixFilms, 1)
	for b.Loop() {
		if _, err := Fit(d, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// Where no best fit with a correlation is found, one without is given, and said to be.
func TestFitWithoutCorrelation(t *testing.T) {
	d := usual.drawn(5, []float64{0.1, 1, 5}, 3)
	c, err := Fit(d, Options{})
	require.NoError(t, err)
	assert.True(t, c.Uncorrelated)
	assert.Zero(t, c.Corr)
	_, err = c.Believe(1)
	assert.NoError(t, err)
	c, err = Fit(usual.drawn(6, sixFilms, 1), Options{})
	require.NoError(t, err)
	assert.False(t, c.Uncorrelated)
}
