package study

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"linerwatch/measure"
)

// Method is how the outlines of a film are turned into a reading. All films of
// a hip that are compared are read by one method: a mixture would look like
// movement.
type Method struct {
	Beam bool // corrected for the cone beam
	Line bool // superior from the film's reference line, not from its rows
}

// ErrNoOutlines is the error of a measurement without outlines to read.
var ErrNoOutlines = errors.New("study: the measurement has no outlines")

// Read returns m with its reading computed from its outlines, corrected for the
// cone beam and turned by its reference line as far as how says and the film
// allows. Beam and How say what was done.
func (m Measurement) Read(how Method) (Measurement, error) {
	if !(m.Head.R > 0) || !(m.Cup.R > 0) {
		return m, ErrNoOutlines
	}
	var line Line
	if how.Line {
		line = m.Line
	}
	h := measure.Hip{Side: m.Side, Head: m.Head, Cup: m.Cup, CupKind: m.CupKind}
	plain, err := measure.Read(m.Head.CircleFit, m.Cup.CircleFit, m.HeadMM, m.Side, line.Alpha)
	if err != nil {
		return m, err
	}
	m.Reading = plain
	m.How = Method{Line: line.From != NoLine}
	m.Corrected = Corrected{}
	m.Beam = BeamUse{Reason: "switched off"}
	if how.Beam {
		m.correct(h, line.Alpha)
	}
	if line.From != NoLine {
		m.Reading.Offset = line.reference().Turn(m.Reading.Offset)
	}
	return m, nil
}

// Corrected are the outlines of a film corrected for the cone beam, each the
// circle of a sphere; zero where they are not corrected.
type Corrected struct{ Head, Cup measure.Circle }

// correct corrects for the cone beam where the film's beam is known.
func (m *Measurement) correct(h measure.Hip, alpha float64) {
	b, doubt, use := m.Film.Beam()
	m.Beam = use
	if use.Reason != "" {
		return
	}
	r, err := b.ReadHipWithin(h, m.HeadMM, alpha, doubt)
	if err != nil {
		m.Beam.Reason = strings.TrimPrefix(err.Error(), "measure: ")
		return
	}
	m.Reading, m.How.Beam = r.Reading, true
	m.Corrected = Corrected{r.Head.Circle, r.Cup.Circle}
	m.Beam.Corrected, m.Beam.Reason = true, ""
	m.Beam.OffAxisMM, m.Beam.HipMM, m.Beam.Moved = r.OnHead.OffAxis, r.SourceHip, r.Moved
}

// OneMethod returns the measurements all read by the same method: corrected for
// the cone beam, and turned by their reference lines, where every measured film
// can be, and otherwise none of them. notes says what was left out and because
// of which films. Measurements without outlines stay as they are, and count as
// neither corrected nor turned.
func OneMethod(h Hip, ms []Measurement) (out []Measurement, how Method, notes []string) {
	out = slices.Clone(ms)
	how = Method{Beam: !h.BeamOff, Line: true}
	var uncorrected, unlined, lined []string
	why := ""
	measured := 0
	for i, m := range out {
		if m.Status != Measured {
			continue
		}
		measured++
		if m.Line.From == NoLine {
			unlined = append(unlined, m.Film.Name())
		} else {
			lined = append(lined, m.Film.Name())
		}
		if m.How != (Method{Beam: how.Beam, Line: how.Line && m.Line.From != NoLine}) {
			if r, err := m.Read(how); err == nil {
				out[i] = r
			}
		}
		if !out[i].How.Beam {
			uncorrected = append(uncorrected, m.Film.Name())
			why = out[i].Beam.Reason
		}
	}
	full := how
	how.Beam = how.Beam && uncorrected == nil
	how.Line = unlined == nil
	if full.Beam && uncorrected != nil && len(uncorrected) < measured {
		notes = append(notes, fmt.Sprintf("no film is corrected for off-axis projection, because %s cannot be (%s); a mixture would look like movement",
			names(uncorrected), why))
	}
	if lined != nil && unlined != nil {
		notes = append(notes, fmt.Sprintf("the reference lines of %s are not used, because %s has none; a mixture would look like movement",
			names(lined), names(unlined)))
	}
	for i, m := range out {
		if m.Status == Measured && (m.How.Beam != how.Beam || m.How.Line != how.Line) {
			if r, err := m.Read(how); err == nil {
				out[i] = r
				if full.Beam && !how.Beam && r.Beam.Reason == "switched off" {
					out[i].Beam.Reason = "another film of the hip cannot be"
				}
			}
		}
	}
	return out, how, notes
}

// names joins the names of films.
func names(list []string) string {
	if len(list) > 3 {
		return fmt.Sprintf("%s and %d more films", strings.Join(list[:2], ", "), len(list)-2)
	}
	return strings.Join(list, ", ")
}
