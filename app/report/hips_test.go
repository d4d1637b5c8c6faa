package report_test

import (
	"bytes"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// record is the series read by R1: five films measured, one of them left out, one
// that R1 gave no result, one unread; R2 read the last film twice.
func record() study.Record {
	h, ms := series()
	h.Patient, h.Group = "Q7-000", "arm, \"B\""
	h.Implant.HeadMaterial = "ZTA"
	r := study.Record{Hip: h}
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	for i, m := range ms {
		m.Film.ID = "F" + string(rune('a'+i))
		r.Films = append(r.Films, m.Film)
		if m.Status == study.Failed {
			continue
		}
		r.Readings = append(r.Readings, study.Reading{ID: "r1" + m.Film.ID, FilmID: m.Film.ID, Reader: "R1", At: at, Version: "0.1", Measurement: m}.Bare())
	}
	for _, id := range []string{"r2", "r3"} {
		g := r.Readings[4]
		g.ID, g.Reader, g.At = id, "R2", at.AddDate(0, 0, len(r.Readings))
		g.Measurement.Reading.Offset.Superior += 0.125
		if id == "r3" {
			g.Supersedes = "r2"
		}
		r.Readings = append(r.Readings, g)
	}
	r.Exclusions = []study.Exclusion{{HipID: h.ID, FilmID: "Fc", Code: "projection", Note: "pelvis\nturned", Reader: "R1", At: at}}
	return r
}

func TestHipsOfAStudy(t *testing.T) {
	r := record()
	none := study.Record{Hip: study.Hip{ID: "Q7-001-left", Side: study.Left, Surgery: r.Hip.Surgery}}
	rows := []study.Summary{r.Summary("R1"), none.Summary("R1")}
	for _, f := range []report.Format{report.Table, report.JSON, report.CSV} {
		golden(t, "hips."+strings.NewReplacer("table", "txt").Replace(string(f)), func(b *bytes.Buffer) error { return report.Hips(b, f, rows, "R1") })
	}
}

// Of a hip with an exchange the rate of the latest series is shown, and each is told.
func TestHipsAfterAnExchange(t *testing.T) {
	r := record()
	r.Events = []study.Event{{ID: "E1", Kind: study.LinerExchanged, Date: time.Date(2006, 1, 1, 0, 0, 0, 0, time.UTC)}}
	r.Hip.Until = study.UntilOf(r.Events)
	r.Exclusions = nil
	s := r.Summary("R1")
	require.NotNil(t, s.Current().Fit)
	for format, says := range map[report.Format]string{
		report.Table: "since 2006-01-01: " + strconv.FormatFloat(s.Current().Fit.Rate, 'f', 3, 64),
		report.JSON:  `"from": "2006-01-01"`,
		report.CSV:   ",2,2006-01-01," + strconv.FormatFloat(s.Current().Fit.Rate, 'f', -1, 64),
	} {
		var b bytes.Buffer
		require.NoError(t, report.Hips(&b, format, []study.Summary{s}, "R1"))
		require.Contains(t, b.String(), says)
	}
}
