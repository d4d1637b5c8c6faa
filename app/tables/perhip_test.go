package tables

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// Results come in order whatever each takes, and none after an error.
func TestInOrder(t *testing.T) {
	var got []int
	take := func(v int) error { got = append(got, v); return nil }
	require.NoError(t, inOrder(200, func(i int) int {
		time.Sleep(time.Duration(i%3) * time.Millisecond / 4)
		return i * i
	}, take))
	require.Len(t, got, 200)
	for i, v := range got {
		require.Equal(t, i*i, v)
	}
	require.NoError(t, inOrder(0, func(i int) int { return i }, take))
	full := errors.New("no room")
	n := 0
	require.ErrorIs(t, inOrder(1000, func(i int) int { return i }, func(int) error {
		if n++; n == 3 {
			return full
		}
		return nil
	}), full)
	assert.Equal(t, 3, n)
}

// Many copied rows are counted, the first of them named.
func TestManyRepeats(t *testing.T) {
	var b strings.Builder
	b.WriteString("hip,years,penetration_mm\n")
	for range 15 {
		b.WriteString("A,1,0.1\n")
	}
	b.WriteString("A,2,0.2\nA,5,0.45\n")
	rates, bad, err := Rates(strings.NewReader(b.String()), nil, 1)
	require.NoError(t, err)
	require.Empty(t, bad)
	require.Equal(t, 3, rates[0].N)
	require.Equal(t, []string{"14 lines repeat others and are counted once; the first are 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, which repeat 2, 2, 2, 2, 2, 2, 2, 2, 2, 2"}, study.NotesWords(rates[0].Warnings))
}

// The same name in a column that tells films apart is another film.
func TestFilmsAlikeAreTwo(t *testing.T) {
	rates, _, err := Rates(strings.NewReader("film,hip,years,penetration_mm\n1,A,1,0.1\n2,A,1,0.1\n3,A,3,0.2\n4,A,5,0.31\n"), nil, 1)
	require.NoError(t, err)
	require.Equal(t, 4, rates[0].N)
	require.Empty(t, rates[0].Warnings)
}

// Hips keep their own names where these tell them apart.
func TestHipsOfPatients(t *testing.T) {
	h := newHips()
	id := func(patient, name string) string { return h.find(patient, name).id }
	a, b := id("P1", "H1"), id("P2", "H2")
	assert.Equal(t, "H1", h.shown(a))
	c := id("P3", "H1")
	assert.Equal(t, []string{"P1 H1", "P2 H2", "P3 H1"}, []string{h.shown(a), h.shown(b), h.shown(c)})
	assert.Equal(t, a, id("P1", "H1"))
	assert.Empty(t, id("P1", ""))
	assert.Equal(t, "H9", h.shown(id("", "H9")))
}

// Models tells the hips in order, and one with a bad row not at all.
func TestModelsInOrder(t *testing.T) {
	var b strings.Builder
	b.WriteString("hip,years,penetration_mm\n")
	for i := range 300 {
		for _, y := range []float64{1, 2, 5} {
			fmt.Fprintf(&b, "H%03d,%g,%.3f\n", i, y, 0.1+0.01*float64(i%7)*y+0.002*y*y)
		}
	}
	b.WriteString("H007,ten,1\n")
	var hips []string
	bad, err := Models(strings.NewReader(b.String()), nil, study.LineModel, 1, func(q []study.Quantity) error {
		if len(q) > 0 {
			hips = append(hips, q[0].Of)
		}
		return nil
	})
	require.NoError(t, err)
	require.Len(t, bad, 1)
	require.Len(t, hips, 299)
	assert.Equal(t, []string{"H006", "H008"}, hips[6:8])
	assert.IsIncreasing(t, hips)
}

// A hip's rows may stand far apart, in a table of more rows than are kept together.
func TestRowsFarApart(t *testing.T) {
	var b strings.Builder
	b.WriteString("hip,years,penetration_mm\n")
	const hips = blockRows/2 + 7
	for _, y := range []float64{1, 2, 5} {
		for i := range hips {
			fmt.Fprintf(&b, "H%d,%g,%g\n", i, y, 0.1+0.01*float64(i)*y)
		}
	}
	rates, bad, err := Rates(strings.NewReader(b.String()), nil, 1)
	require.NoError(t, err)
	require.Empty(t, bad)
	require.Len(t, rates, hips)
	for i, r := range rates {
		require.Equal(t, fmt.Sprintf("H%d", i), r.Hip)
		require.Equal(t, 3, r.N)
		require.InDelta(t, 0.01*float64(i), r.Fit.Rate, 1e-9)
	}
}

// Every model of 200 hips of five films each: time a hip.
func BenchmarkModels(b *testing.B) {
	var text strings.Builder
	text.WriteString("hip,years,penetration_mm,se_mm\n")
	r := rand.New(rand.NewPCG(1, 1))
	const hips = 200
	for i := range hips {
		for _, y := range []float64{0.25, 1, 2, 5, 10} {
			fmt.Fprintf(&text, "H%d,%g,%.3f,0.05\n", i, y, 0.15*(1-math.Exp(-3*y))+0.06*y+0.05*r.NormFloat64())
		}
	}
	for b.Loop() {
		if _, err := Models(strings.NewReader(text.String()), nil, study.FitAll, 1, func([]study.Quantity) error { return nil }); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/hips, "us/hip")
}
