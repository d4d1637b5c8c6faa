package report_test

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// withLateral adds lateral films of the first and the last measured day, on which
// the head moved by 0.4 mm to the front and as far towards the head end as on the
// AP films, 1.27 mm.
func withLateral(ms []study.Measurement) []study.Measurement {
	for i, of := range []int{0, 4} {
		m := ms[of]
		m.Film.ID, m.Film.Path, m.Film.Facts.View = "L"+strconv.Itoa(i), "films/lateral"+strconv.Itoa(i)+".dcm", study.Lateral
		m.Film.Facts.Axes = study.Axes{Head: "up", Front: "right"}
		m.Reading.Offset.Medial = 0.1 + 0.4*float64(i)
		m.Head.Circle.X = m.Cup.X + m.Reading.Offset.Medial/m.Reading.Scale
		m.Head.Circle.Y = m.Cup.Y - m.Reading.Offset.Superior/m.Reading.Scale
		ms = append(ms, m)
	}
	return ms
}

// csvRows reads CSV back by column, the rows by their first cell.
func csvRows(t *testing.T, b *bytes.Buffer) map[string]map[string]string {
	t.Helper()
	rows, err := csv.NewReader(b).ReadAll()
	require.NoError(t, err)
	out := map[string]map[string]string{}
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, c := range row {
			m[rows[0][i]] = c
		}
		out[row[0]] = m
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err, "%q", s)
	return v
}

func TestMovementInSpaceIsInEveryTable(t *testing.T) {
	h, ms := series()
	ms = withLateral(ms)
	trend, err := study.NewTrend(h, ms)
	require.NoError(t, err)
	require.Len(t, trend.Spatial, 1)
	require.NoError(t, trend.Spatial[0].Err)

	var b bytes.Buffer
	require.NoError(t, report.Trend(&b, report.CSV, trend))
	rows := csvRows(t, &b)
	last := rows[ms[4].Film.Path]
	require.Equal(t, "films/lateral1.dcm", last["lateral_film"])
	require.InDelta(t, 0.4, number(t, last["spatial_anterior_mm"]), 1e-9)
	require.InDelta(t, 1.27, number(t, last["spatial_superior_mm"]), 1e-9)
	require.InDelta(t, 0.02*1.4142, number(t, last["se_spatial_anterior_mm"]), 1e-4)
	require.InDelta(t, 0, number(t, last["lateral_disagreement_mm"]), 1e-9)
	require.Empty(t, rows[ms[1].Film.Path]["spatial_anterior_mm"])

	b.Reset()
	require.NoError(t, report.Measurements(&b, report.CSV, ms))
	rows = csvRows(t, &b)
	lateral := rows["films/lateral1.dcm"]
	require.InDelta(t, 0.5, number(t, lateral["lateral_anterior_mm"]), 1e-9)
	require.InDelta(t, 0.02, number(t, lateral["se_lateral_along_mm"]), 1e-9)
	require.Equal(t, "right", lateral["lateral_front"])
	require.Equal(t, "lateral", lateral["view"])
	require.Empty(t, lateral["offset_superior_mm"])
	require.Empty(t, rows[ms[0].Film.Path]["lateral_along_mm"])
}
