package tables

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestRatesNamesBadRows(t *testing.T) {
	table := "hip,years,penetration_mm,se_mm\nA,1,0.1,0.02\nA,2,x,0.02\nB,1,0.2,-1\n"
	rates, bad, err := Rates(strings.NewReader(table), nil, 1)
	require.NoError(t, err)
	require.Len(t, bad, 2)
	require.Equal(t, RowError{3, "penetration_mm", "A", note("cell.no-number", study.Values{"Text": "x"})}, *bad[0])
	require.Equal(t, RowError{4, "se_mm", "B", note("cell.negative", study.Values{"Value": -1.})}, *bad[1])
	require.Len(t, rates, 2)
	require.Equal(t, 2, rates[0].N)
	require.Nil(t, rates[0].Fit)
	require.Equal(t, study.Told(bad[0]), study.NoteWords(rates[0].Reason))
}

func TestRatesTellsAReadError(t *testing.T) {
	broken := io.MultiReader(strings.NewReader("hip,years,penetration_mm\nA,1,0.1\n"), errReader{})
	_, _, err := Rates(broken, nil, 1)
	require.ErrorContains(t, err, "the cable is out")
}

type errReader struct{}

func (errReader) Read([]byte) (int, error) { return 0, errors.New("the cable is out") }

// FuzzRates checks that no table brings the reader down or loses rows.
func FuzzRates(f *testing.F) {
	f.Add("hip,years,penetration_mm\nA,1,0.1\nA,2,0.2\nA,3,0.4\n")
	f.Add("\ufeffhip;years;penetration_mm;se_mm\nA;1,0;0,1;0,02\n")
	f.Add("hip,years,penetration_mm\n\"A")
	f.Add("hip,hip,years\n")
	f.Fuzz(func(t *testing.T, table string) {
		rates, _, err := Rates(strings.NewReader(table), nil, 1)
		if err != nil {
			require.NotContains(t, err.Error(), "\n")
			return
		}
		for _, r := range rates {
			require.True(t, r.N > 0 && r.Used <= r.N)
			require.True(t, r.Fit != nil || !r.Reason.IsZero(), "a hip without a rate says why")
		}
	})
}

func TestRowsThatNobodyReadArePassedOver(t *testing.T) {
	table := "hip,years,penetration_mm,se_mm\nA,1,0.1,0.02\nA,2,NA,NA\nA,3,0.3,NA\nB,1,NA,NA\nA,5,0.5,0.02\n"
	rates, bad, err := Rates(strings.NewReader(table), nil, 1)
	require.NoError(t, err)
	require.Empty(t, bad)
	require.Len(t, rates, 2)
	require.Equal(t, 3, rates[0].N)
	require.InDelta(t, 0.1, rates[0].Fit.Rate, 1e-9)
	require.Contains(t, study.NotesWords(rates[0].Warnings), "1 of 4 rows are passed over: their penetration is NA")
	require.Equal(t, "B", rates[1].Hip)
	require.Nil(t, rates[1].Fit)
	require.Equal(t, "no rate: the penetration of every row is NA", study.NoteWords(rates[1].Reason))
}

// The relative error of the scale widens a hip's intervals; one that is not relative is refused.
func TestScaleOfATable(t *testing.T) {
	const rows = "hip,years,penetration_mm,se_scale\nA,1,0.2,%[1]s\nA,3,0.41,%[1]s\nA,5,0.6,%[1]s\nA,8,0.9,%[1]s\n"
	width := func(se string) float64 {
		rates, bad, err := Rates(strings.NewReader(fmt.Sprintf(rows, se)), nil, 1)
		require.NoError(t, err)
		require.Empty(t, bad)
		return rates[0].Fit.Hi95 - rates[0].Fit.Lo95
	}
	require.Equal(t, width("NA"), width(""))
	require.Equal(t, width("NA"), width("0"))
	require.Greater(t, width("0.05"), width("NA"))
	_, bad, err := Rates(strings.NewReader(fmt.Sprintf(rows, "5")), nil, 1)
	require.NoError(t, err)
	require.Equal(t, "line 2, column se_scale: 5 is no relative standard error, which is below 1, such as 0.003", study.Told(bad[0]))
}
