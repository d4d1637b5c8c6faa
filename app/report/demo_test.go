package report_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/tables"
)

// The table of penetrations gives the intervals of the study itself: it carries every error
// that they hold, that of the scale too.
func TestPenetrationsGiveTheSameIntervals(t *testing.T) {
	h, films := series()
	for i := range films {
		films[i].Reading.SEScale = 0.01 * films[i].Reading.Scale
	}
	tr, err := study.NewTrend(h, films)
	require.NoError(t, err)
	require.InDelta(t, 0.01, tr.ScaleSE(), 1e-12)
	var table bytes.Buffer
	require.NoError(t, report.Penetrations(&table, []study.Trend{tr}))
	rates, bad, err := tables.Rates(&table, nil, tr.Fit.StartYears)
	require.NoError(t, err)
	require.Empty(t, bad)
	require.Len(t, rates, 1)
	of := func(f *study.TrendFit) []float64 {
		return []float64{f.Rate, f.Lo95, f.Hi95, f.BeddingIn, f.BeddingLo95, f.BeddingHi95}
	}
	require.InDeltaSlice(t, of(tr.Fit), of(rates[0].Fit), 1e-9)
	for i := range films {
		films[i].Reading.SEScale = 0
	}
	sure, err := study.NewTrend(h, films)
	require.NoError(t, err)
	require.Greater(t, tr.Fit.Hi95-sure.Fit.Hi95, 1e-6, "the scale's error is in it")
}
