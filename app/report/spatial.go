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

func spatialsOf(t study.Trend) []spatialJSON {
	out := []spatialJSON{}
	for _, s := range t.Spatial {
		j := spatialJSON{s.Film.Path, s.Lateral.Path, study.Why(s.Err), none, none, none, none, none, none, none, none, none, none, none}
		if s.Err == nil {
			length, se := s.Magnitude()
			j.Superior, j.Medial, j.Anterior = num(s.Superior), num(s.Medial), num(s.Anterior)
			j.SESuperior, j.SEMedial, j.SEAnterior = root(s.Cov[0][0]), root(s.Cov[1][1]), root(s.Cov[2][2])
			j.Magnitude, j.SEMagnitude = num(length), num(se)
			if length > 0 {
				j.OutOfPlane = num(s.OutOfPlane())
			}
			j.Disagreement, j.SEDisagree = num(s.Disagreement), num(s.SEDisagreement)
		}
		out = append(out, j)
	}
	return out
}

// spatialLines says in words what lateral films add.
func spatialLines(t study.Trend) (lines []string) {
	name := shortNames(trendFilms(t))
	for _, s := range t.Spatial {
		if s.Err != nil {
			lines = append(lines, fmt.Sprintf("note: %s with its lateral film: %s", name(s.Film), study.Why(s.Err)))
			continue
		}
		length, se := s.Magnitude()
		c := column{decimals(float64(root(s.Cov[2][2])))}
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

func lateralOf(m study.Measurement) *lateralJSON {
	a, o := m.Film.Given.Axes, m.Reading.Offset
	along, anterior := o.SE()
	return &lateralJSON{num(o.Superior), num(o.Medial), num(along), num(anterior), a.Head, a.Front, num(a.Obliquity)}
}
