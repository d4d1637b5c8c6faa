package findings_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/findings"
	"linerwatch/app/findings/findingstest"
	"linerwatch/app/study"
)

// TestLinersAreFollowed has one hip for each thing that can end how a liner is followed.
func TestLinersAreFollowed(t *testing.T) {
	after := func(r study.Record, years int) time.Time { return r.Hip.Surgery.AddDate(years, 0, 0) }
	records := findingstest.Study{Hips: 6}.Records()
	for i, kind := range []study.EventKind{study.LinerExchanged, study.CupRevised, study.Died, study.HeadExchanged, study.Lost} {
		records[i].Events = []study.Event{{ID: "1", Kind: kind, Date: after(records[i], 20)}}
	}
	records[5].Hip.Surgery = time.Time{}
	l := tell(findings.Options{}, records).Liners
	require.True(t, l.Why.IsZero())
	require.Equal(t, 5, l.N)
	require.Equal(t, 1, l.Left, "a hip without a date of surgery")
	require.Len(t, l.Curves, 1)
	require.Equal(t, 2, l.Curves[0].Events, "a liner exchanged and a cup revised; a head alone, a death and who was lost are none")
	require.Equal(t, 5, l.Curves[0].At(19.9).AtRisk)
	want := map[string]float64{"liners": 5, "revised": 2, "at risk at year 10": 5}
	for _, q := range l.Told {
		if v, ok := want[q.Name]; ok && q.Model == "Kaplan-Meier" {
			require.Equal(t, v, q.Value, q.Name)
			delete(want, q.Name)
		}
	}
	require.Empty(t, want)

	records[0].Events = append(records[0].Events, study.Event{ID: "2", TakesBack: "1"})
	l = tell(findings.Options{}, records).Liners
	require.Equal(t, 1, l.Curves[0].Events, "an exchange that was taken back is none")
	for i := range records {
		records[i].Events = nil
	}
	require.Equal(t, "findings.no-event", tell(findings.Options{}, records).Liners.Why.Code, "nobody may have looked")
}
