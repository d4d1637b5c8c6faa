package dataset_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// Lateral films of the first and the last measured day, on which the head moved by 0.4 mm to
// the front and as far towards the head end as on the AP films, give movement in space.
func TestMovementInSpaceIsExported(t *testing.T) {
	r := record()
	for i, of := range []int{0, 4} {
		m := r.Readings[of].Measurement
		m.Film.ID, m.Film.Path, m.Film.Facts.View = "L"+strconv.Itoa(i), "films/lateral.dcm", study.Lateral
		m.Film.Facts.Axes = study.Axes{Head: "up", Front: "right"}
		m.Reading.Offset.Medial = 0.1 + 0.4*float64(i)
		m.Head.Circle.X = m.Cup.X + m.Reading.Offset.Medial/m.Reading.Scale
		m.Head.Circle.Y = m.Cup.Y - m.Reading.Offset.Superior/m.Reading.Scale
		r.Films = append(r.Films, m.Film)
		r.Readings = append(r.Readings, study.Reading{ID: "r" + m.Film.ID, FilmID: m.Film.ID, Reader: "R1", At: r.Readings[0].At, Measurement: m})
	}
	e := exported(t, dataset.Options{Whose: "R1"}, kept(r))
	var film map[string]string
	for _, f := range e.table(t, "films") {
		if f["lateral_film_id"] != "NA" {
			film = f
		}
	}
	require.Equal(t, "L1", film["lateral_film_id"])
	require.InDelta(t, 0.4, number(t, film["spatial_anterior_mm"]), 1e-6, "from the outlines, with the head's own scale")
	units := map[string]string{}
	for _, c := range e.table(t, "codebook") {
		if strings.Contains(c["column"], "spatial") {
			units[c["column"]] = c["unit"]
		}
	}
	require.Len(t, units, 8)
	for name, unit := range units {
		require.Equal(t, "mm", unit, name)
	}
}
