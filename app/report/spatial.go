package report

import (
	"fmt"

	"linerwatch/app/study"
)

// spatialJSON is a penetration in space from an AP and a lateral film.
type spatialJSON struct {
	Film         string `json:"film"`
	Lateral      string `json:"lateral_film"`
	Reason       string `json:"reason"` // why there is none
	Superior     num    `json:"superior_mm"`
	Medial       num    `json:"medial_mm"`
	Anterior     num    `json:"anterior_mm"`
	SESuperior   num    `json:"se_superior_mm"`
	SEMedial     num    `json:"se_medial_mm"`
	SEAnterior   num    `json:"se_anterior_mm"`
	Magnitude    num    `json:"magnitude_mm"`
	SEMagnitude  num    `json:"se_magnitude_mm"`
	OutOfPlane   num    `json:"out_of_plane_deg"` // from the AP film's plane, anterior positive
	Disagreement num    `json:"disagreement_mm"`  // lateral less AP along what both show
	SEDisagree   num    `json:"se_disagreement_mm"`
}

var noSpatial = spatialJSON{"", "", "", none, none, none, none, none, none, none, none, none, none, none}

func spatialsOf(t study.Trend) []spatialJSON {
	out := []spatialJSON{}
	for _, s := range t.Spatial {
		out = append(out, spatialOf(s))
	}
	return out
}

func spatialOf(s study.Spatial) spatialJSON {
	j := noSpatial
	j.Film, j.Lateral, j.Reason = s.Film.Path, s.Lateral.Path, study.Told(s.Err)
	if s.Err != nil {
		return j
	}
	length, se := s.Magnitude()
	j.Superior, j.Medial, j.Anterior = num(s.Superior), num(s.Medial), num(s.Anterior)
	j.SESuperior, j.SEMedial, j.SEAnterior = root(s.Cov[0][0]), root(s.Cov[1][1]), root(s.Cov[2][2])
	j.Magnitude, j.SEMagnitude = num(length), num(se)
	if length > 0 {
		j.OutOfPlane = num(s.OutOfPlane())
	}
	j.Disagreement, j.SEDisagree = num(s.Disagreement), num(s.SEDisagreement)
	return j
}

var spatialColumns = []string{
	"lateral_film", "spatial_reason", "spatial_superior_mm", "spatial_medial_mm", "spatial_anterior_mm",
	"se_spatial_superior_mm", "se_spatial_medial_mm", "se_spatial_anterior_mm", "spatial_magnitude_mm", "se_spatial_magnitude_mm",
	"out_of_plane_deg", "lateral_disagreement_mm", "se_lateral_disagreement_mm",
}

// spatialCells are those of the film whose AP and lateral films are joined.
func spatialCells(t study.Trend, film study.Film) []string {
	j := noSpatial
	for _, s := range t.Spatial {
		if s.Film.Path == film.Path {
			j = spatialOf(s)
		}
	}
	return []string{j.Lateral, j.Reason, j.Superior.cell(), j.Medial.cell(), j.Anterior.cell(),
		j.SESuperior.cell(), j.SEMedial.cell(), j.SEAnterior.cell(), j.Magnitude.cell(), j.SEMagnitude.cell(),
		j.OutOfPlane.cell(), j.Disagreement.cell(), j.SEDisagree.cell()}
}

// spatialLines says in words what lateral films add.
func spatialLines(t study.Trend) (lines []string) {
	name := shortNames(trendFilms(t))
	for _, s := range t.Spatial {
		if s.Err != nil {
			lines = append(lines, fmt.Sprintf("note: %s with its lateral film: %s", name(s.Film), study.Told(s.Err)))
			continue
		}
		length, se := s.Magnitude()
		c := column{Decimals(float64(root(s.Cov[2][2])))}
		lines = append(lines, fmt.Sprintf("in space           %s: %s mm superior, %s medial, %s anterior; %s mm in all, with %s",
			name(s.Film), c.value(s.Superior), c.value(s.Medial), c.withSE(s.Anterior, float64(root(s.Cov[2][2]))),
			c.withSE(length, se), s.Lateral.Name()))
	}
	return lines
}

// lateralJSON is the offset on a cross-table lateral film.
type lateralJSON struct {
	Along      num    `json:"along"` // towards the head end
	Anterior   num    `json:"anterior"`
	SEAlong    num    `json:"se_along"`
	SEAnterior num    `json:"se_anterior"`
	Head       string `json:"head_end"` // edge of the film
	Front      string `json:"front"`
	Obliquity  num    `json:"obliquity_deg"`
}

var lateralColumns = []string{
	"lateral_along_mm", "lateral_anterior_mm", "se_lateral_along_mm", "se_lateral_anterior_mm",
	"lateral_head_end", "lateral_front", "lateral_obliquity_deg",
}

func lateralCells(f filmJSON) []string {
	if f.Lateral == nil {
		return make([]string, len(lateralColumns))
	}
	l := f.Lateral
	return []string{l.Along.cell(), l.Anterior.cell(), l.SEAlong.cell(), l.SEAnterior.cell(), l.Head, l.Front, l.Obliquity.cell()}
}

func lateralOf(m study.Measurement) *lateralJSON {
	a, o := m.Film.Axes(), m.Reading.Offset
	along, anterior := o.SE()
	return &lateralJSON{num(o.Superior), num(o.Medial), num(along), num(anterior), a.Head, a.Front, num(a.Obliquity)}
}
