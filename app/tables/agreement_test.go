package tables_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/app/tables"
)

const exportHeader = "hip_id,film_id,row,reading_id,reader,supersedes,withdrawn,left_out_code,offset_superior_mm\n"

// Of the readings of an export those count that stand: a reading that another replaces is
// none, one that the withdrawn one replaced stands again, and two of which neither
// replaces the other are repeats.
func TestAgreementOfAnExport(t *testing.T) {
	const table = exportHeader +
		"H1,F1,reading,r1,A,NA,NA,NA,0.10\nH1,F1,reading,r2,A,r1,NA,NA,0.20\nH1,F1,reading,r3,B,NA,NA,NA,0.25\n" +
		"H1,F2,reading,r4,A,NA,NA,NA,0.40\nH1,F2,reading,r5,A,r4,1,NA,0.99\nH1,F2,reading,r6,B,NA,NA,NA,0.41\n" +
		"H1,F3,reading,r7,A,NA,NA,NA,0.60\nH1,F3,reading,r8,A,NA,NA,NA,0.64\nH1,F3,reading,r9,B,NA,NA,NA,0.61\n" +
		"H1,F4,reading,s1,A,NA,NA,blurred,0.90\nH1,F5,reading,s2,A,NA,NA,NA,NA\n" +
		"H1,F6,proposal,NA,NA,NA,NA,NA,0.7\nNA,F7,none,NA,NA,NA,NA,NA,NA\n" +
		"H2,F1,reading,s3,A,NA,NA,NA,-0.5\nH2,F1,reading,s4,B,NA,NA,NA,-0.4\n" +
		"H2,F8,reading,s5,A,NA,NA,NA,0.3\nH2,F8,reading,s6,A,s5,1,NA,0.99\nH2,F8,reading,s7,A,s6,NA,NA,0.31\nH2,F8,reading,s8,B,NA,NA,NA,0.33\n" +
		"H3,F9,reading,t1,A,NA,NA,NA,0.5\nH3,F9,reading,t2,B,NA,NA,NA,0.5\n"
	list, bad, err := tables.Agreement(strings.NewReader(table), tables.Columns{"value": "offset_superior_mm"}, "mm")
	require.NoError(t, err)
	require.Empty(t, bad)
	assert.InDelta(t, 6, quantity(t, list, "A less B", "Bland-Altman", "targets").Value, 0)
	// One film was read twice: 0.60 and 0.64 differ by 0.04, whose SD is 0.04/sqrt 2.
	assert.InDelta(t, 0.04/1.4142135623730951, quantity(t, list, "A", "readings repeated by one reader", "within-target SD").Value, 1e-12)
	var passed []string
	for _, q := range list {
		if q.Name == "rows passed over" {
			passed = append(passed, study.NoteWords(q.Note))
		}
	}
	assert.Equal(t, []string{"2 hold a reading that another supersedes", "2 hold a reading that was withdrawn", "1 are of films left out",
		"1 hold NA in column offset_superior_mm", "2 hold no accepted reading"}, passed)
}

func TestAgreementOfAnExportWithoutReadings(t *testing.T) {
	_, _, err := tables.Agreement(strings.NewReader(exportHeader+"H1,F6,proposal,NA,NA,NA,NA,NA,0.7\n"), tables.Columns{"value": "offset_superior_mm"}, "mm")
	require.Equal(t, "three or more targets are needed, the table has 0; rows passed over: 1 hold no accepted reading", study.NoteWords(study.NoteOf(err)))
}
