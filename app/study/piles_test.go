package study

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Films that wait are counted by whose they are and why; files that cannot be read are no
// films of anybody.
func TestWaitingSaysHowManyAndWhy(t *testing.T) {
	film := func(patient string, w Waits, reason string) Film {
		return Film{Waits: w, Reason: Note{Text: reason}, Facts: Facts{Patient: patient, Side: Right}}
	}
	hips := []Hip{{ID: "H1", Patient: "T1", Side: Right}}
	piles := Piles([]Film{film("T2", NotSorted, ""), film("T1", NotSorted, ""), film("T1", NotAP, "the file says RLO"),
		film("T2", NotSorted, ""), film("T1", NotAP, "the file says RLO"), film("", Unreadable, "torn")}, hips)
	require.Len(t, piles, 3)
	require.Equal(t, []string{
		"5 films wait and are of no hip yet.",
		"T1, right: 2 films of another view wait (the file says RLO).",
		"T1, right: 1 film waits to be taken into its hip.",
		"T2, right: 2 films wait to be begun.",
	}, Waiting(piles))
	require.Nil(t, Waiting(Piles([]Film{film("", Unreadable, "torn")}, hips)))
}
