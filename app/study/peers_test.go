package study

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit/settle"
)

// simulatedHips are trends of hips of eight films, of which bedding-in, rate and time
// constant vary.
func simulatedHips(t *testing.T, n int) []Trend {
	t.Helper()
	rng := rand.New(rand.NewPCG(14, 3))
	const se = 0.03
	var out []Trend
	for i := range n {
		h := rightHip()
		h.ID = fmt.Sprintf("H%d", i)
		bedding, rate, tau := trueBedding+0.05*rng.NormFloat64(), trueRate+0.02*rng.NormFloat64(), 0.5*math.Exp(0.2*rng.NormFloat64())
		var ms []Measurement
		for _, days := range []int{42, 120, 220, 365, 730, 1461, 2557, 3652} {
			d := h.Surgery.AddDate(0, 0, days)
			y := h.Years(d)
			ms = append(ms, on(fmt.Sprint(days), d.Format(time.DateOnly), bedding*(1-math.Exp(-y/tau))+rate*y+se*rng.NormFloat64(), 0, se))
		}
		tr, err := NewTrend(h, ms)
		require.NoError(t, err)
		out = append(out, tr)
	}
	return out
}

// A hip beside its peers is what it is as one of a cohort with them, by the table's route.
func TestPeers(t *testing.T) {
	hips := simulatedHips(t, 12)
	var p Peers
	all := allFilms{}
	for i, tr := range hips {
		all.films = append(all.films, tr.films(Superior))
		if i > 0 {
			p.Add(tr)
		}
	}
	f, err := p.Fit()
	require.NoError(t, err)
	m := f.Model(hips[0])
	require.True(t, m.Fitted && m.HasInterval)
	assert.Equal(t, "rests on its films and on 11 other hips of the study", NoteWords(m.Note))
	assert.Equal(t, 8, m.Films)
	y, lo, hi, ok := m.Mean(10)
	assert.True(t, ok && lo < y && y < hi)
	from, to, ok := m.Next(10)
	assert.True(t, ok && from < lo && hi < to)
	assert.Equal(t, m.Figures, f.Model(hips[0]).Figures)

	require.NoError(t, all.settle(settle.Options{}))
	c, ok := all.belief.Hip("H0")
	require.True(t, ok)
	for i, q := range all.course(all.films[0], c) {
		tol := 0.1 * (q.Interval.Hi - q.Interval.Lo)
		assert.InDelta(t, q.Interval.Lo, m.Figures[i].Interval.Lo, tol, q.Name)
		assert.InDelta(t, q.Interval.Hi, m.Figures[i].Interval.Hi, tol, q.Name)
	}
	alone := hips[0].Models(Superior)
	for _, a := range alone {
		if a.Code == beddingCurve.Code && a.HasInterval {
			assert.Less(t, m.Hi95-m.Lo95, a.Hi95-a.Lo95, "the peers tell what its films alone do not")
		}
	}
}

func TestFewPeers(t *testing.T) {
	var p Peers
	for _, tr := range simulatedHips(t, 4) {
		p.Add(tr)
	}
	_, err := p.Fit()
	require.Error(t, err)
	assert.Equal(t, "4 other hips with two films or more read, need 5", Told(err))
	_, said := Unfitted(err)
	assert.False(t, said, "most hips of a new study")
}

// Why there is no model with the peers is said where it would stand.
func TestUnfittedPeers(t *testing.T) {
	_, said := Unfitted(nil)
	assert.False(t, said, "on its way")
	m, said := Unfitted(settle.ErrSearch)
	require.True(t, said)
	assert.False(t, m.Fitted)
	assert.Equal(t, CohortModel, m.Code)
	assert.Contains(t, NoteWords(m.Note), "no best fit of the cohort was found")
}
