package study

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// scattered are n films a year apart, from a year after surgery on, on no curve; the
// first is the baseline.
func scattered(n int) hipFilms {
	h := hipFilms{hip: "H", start: 1, base: baseFilm{years: 1}}
	for i := range n {
		h.t, h.y = append(h.t, float64(i+1)), append(h.y, 0.1*float64(i+1)+0.02*math.Sin(3*float64(i)))
	}
	return h
}

// A model needs as many films as its fit says that it does, and each is known by
// words of its own.
func TestModelKinds(t *testing.T) {
	ranked, err := wearfit.Compare(scattered(8).t, scattered(8).y, nil, 1)
	require.NoError(t, err)
	codes, names := map[string]bool{FitAll: true, "": true}, map[string]bool{"": true}
	for _, k := range ModelKinds() {
		t.Run(k.Code, func(t *testing.T) {
			require.False(t, codes[k.Code], "the code is another's")
			require.False(t, names[k.Name], "the name is another's")
			codes[k.Code], names[k.Name] = true, true
			for _, key := range []string{k.Title, cmp.Or(k.About, k.Title)} {
				_, err := texts.Try(key, nil)
				require.NoError(t, err)
			}
			require.Equal(t, k.Robust, k.About == "", "what can be asked for alone is told in the help")
			few := &wearfit.TooFewError{}
			require.False(t, errors.As(k.fit(&Model{ModelKind: k}, scattered(k.Least)), &few))
			require.ErrorAs(t, k.fit(&Model{ModelKind: k}, scattered(k.Least-1)), &few)
			require.Equal(t, k.Least, few.Need)
			m := k.to(scattered(8))
			require.True(t, m.Fitted, NoteWords(m.Note))
			require.InDelta(t, 0.1, m.Rate, 0.05)
			require.Equal(t, k.compared != "", slices.ContainsFunc(ranked, func(r wearfit.Ranked) bool { return r.Model == k.compared }))
		})
	}
}

func TestKindsOf(t *testing.T) {
	for _, c := range []struct {
		code string
		want []string
	}{
		{"", []string{"line"}},
		{"line", []string{"line"}},
		{"exp", []string{"exp"}},
		{FitAll, []string{"line", "stick", "exp", "theil-sen", "huber"}},
	} {
		kinds, err := KindsOf(c.code)
		require.NoError(t, err)
		var got []string
		for _, k := range kinds {
			got = append(got, k.Code)
		}
		require.Equal(t, c.want, got, c.code)
	}
	for _, code := range []string{"curve", "huber", "steady-state line"} {
		_, err := KindsOf(code)
		require.Equal(t, &NoModelError{code}, err)
		q := FitModels("H", []Point{{Years: 1}, {Years: 2}}, code, 1)
		require.Len(t, q, 1)
		require.False(t, q[0].Exists())
		require.Contains(t, NoteWords(q[0].Note), "no model")
	}
}

// A model that is in the list is fitted with the others, and asked for by its code.
func TestModelIsRegistered(t *testing.T) {
	had := modelKinds
	t.Cleanup(func() { modelKinds = had })
	modelKinds = append(slices.Clone(had), ModelKind{
		Code: "level", Name: "level", About: "no movement at all", Steady: true, Least: 1,
		fit: func(m *Model, h hipFilms) error {
			rate := Quantity{Of: h.hip, Model: m.Name, Name: "rate", Unit: unitRate}
			m.told(rate)
			m.Figures = []Quantity{rate}
			m.mean = func(float64) float64 { return h.y[0] }
			return nil
		},
	})
	shown := straight(t, 0.1).Models(Superior)
	m := shown[len(shown)-1]
	require.Equal(t, "level", m.Name)
	require.True(t, m.Fitted)
	require.Equal(t, 6, m.Films, "those in the steady state")
	y, _, _, band := m.Mean(5)
	require.Positive(t, y)
	require.False(t, band)
	var points []Point
	for i, v := range scattered(6).t {
		points = append(points, Point{Years: v, MM: scattered(6).y[i]})
	}
	require.Equal(t, []Quantity{{Of: "H", Model: "level", Name: "rate", Unit: "mm/year"}}, FitModels("H", points, "level", 1))
	require.True(t, slices.ContainsFunc(FitModels("H", points, FitAll, 1), func(q Quantity) bool { return q.Model == "level" }))
}
