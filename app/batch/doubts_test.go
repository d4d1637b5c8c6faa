package batch_test

import (
	"fmt"
	"image"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// What can hardly be true is told before it is entered, with films that come and films that
// are there.
func TestDoubts(t *testing.T) {
	st := new(storetest.Memory)
	dir := t.TempDir()
	film := func(code string, year int) {
		img := image.NewGray16(image.Rect(0, 0, 20, 20))
		img.Pix[0], img.Pix[1], img.Pix[2] = byte(year%100), code[2], 1
		require.NoError(t, dicomio.WriteFile(filepath.Join(dir, fmt.Sprint(code, year, ".dcm")), &dicomio.Film{Pixels: img, Bits: 12,
			Photometric: "MONOCHROME2", View: "AP", PatientCode: code, Laterality: "R", Date: day(year, 1)}))
	}
	for year := 2003; year < 2006; year++ {
		film("Q-1", year)
		film("Q-2", year)
	}
	film("q_2", 2006)
	doubts := func(hips, events string, enter bool) []string {
		roll := plan(t, st, hips, events)
		require.Empty(t, roll.BadTold())
		p, err := batch.PlanFiling(t.Context(), st, []string{dir}, roll.Hips, batch.FilingOptions{Now: day(2040, 1)}, nil)
		require.NoError(t, err)
		list, err := roll.Doubts(t.Context(), st, p)
		require.NoError(t, err)
		if enter {
			by := study.Stamp{Reader: "C1"}
			require.NoError(t, roll.Enter(t.Context(), st, by))
			require.NoError(t, p.Keep(t.Context(), st, by, nil))
		}
		return list
	}
	const head = "patient,side,surgery,head_mm\n"
	require.Equal(t, []string{
		"Q-1 right: 2 films are from after the death on 2003-06-01, the last of 2005-01-01: is its date right?",
		"Q-2 right: 3 of its 3 films are from before the surgery of 2007-01-01: is its date right?",
		"Patients Q-2 and q_2 are spelled alike: is one patient here under two codes?",
	}, doubts(head+"Q-1,right,2001-01-01,28\nQ-2,right,2007-01-01,28\n", "patient,event,date\nQ-1,death,2003-06-01\n", false))
	require.Equal(t, []string{"Patients Q-2 and q_2 are spelled alike: is one patient here under two codes?"},
		doubts(head+"Q-1,right,2001-01-01,28\nQ-2,right,2001-01-01,28\n", "", true))
	require.Equal(t, []string{
		"Q-1 right: 1 film is from after the death on 2004-06-01, the last of 2005-01-01: is its date right?",
		"Q-2 right: 1 of its 3 films are from before the surgery of 2003-06-01: is its date right?",
		"Patients Q-2 and q_2 are spelled alike: is one patient here under two codes?",
		"Patients Q-1 and q1 are spelled alike: is one patient here under two codes?",
	}[:3], doubts(head+"Q-2,right,2003-06-01,28\n", "patient,event,date\nQ-1,death,2004-06-01\n", false))
	require.Equal(t, []string{"Patients Q-1 and q 1 are spelled alike: is one patient here under two codes?",
		"Patients Q-2 and q_2 are spelled alike: is one patient here under two codes?"}, doubts(head+"q 1,right,2001-01-01,28\n", "", false))
}
