package study

import (
	"slices"
	"strings"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// Method is how the outlines of a film are turned into a reading. All films of
// a hip that are compared are read by one method: a mixture would look like
// movement.
type Method struct {
	Beam bool // corrected for the cone beam
	Line bool // superior from the film's reference line, not from its rows
	// Ring says of a reading that the centre of its marker ring is its own and not that
	// of its ellipse; Read sets it where there is a ring. Readings kept from before are
	// without.
	Ring bool `json:",omitempty"`
}

// ErrNoOutlines is the error of a measurement without outlines to read.
var ErrNoOutlines = NewError("reading.no-outlines", nil)

// Read returns m with its reading computed from its outlines, corrected for the
// cone beam and turned by its reference line as far as how says and the film
// allows. Beam and How say what was done. On a lateral film superior is towards
// the head end and medial towards the front, by its axes.
func (m Measurement) Read(how Method) (Measurement, error) {
	if len(m.parts) > 0 {
		return m.readParts(how)
	}
	if !(m.Head.R > 0) || !(m.Cup.R > 0) {
		return m, ErrNoOutlines
	}
	var line Line
	if how.Line {
		line = m.Line
	}
	side, alpha := m.Side, line.Alpha
	if m.Film.View() == Lateral {
		var err error
		if side, alpha, err = m.Film.Axes().frame(); err != nil {
			return m, err
		}
		line = Line{}
	}
	h := measure.Hip{Side: side, Head: m.Head, Cup: m.Cup, CupKind: m.CupKind}
	cup, err := m.usualCup(h, alpha)
	if err != nil {
		return m, err
	}
	if m.Reading, err = measure.Read(m.Head.CircleFit, cup, m.HeadMM, side, alpha); err != nil {
		return m, err
	}
	m.How = Method{Line: line.From != NoLine, Ring: m.Cup.Ring.A > 0}
	m.Corrected = Corrected{}
	m.Beam = BeamUse{Reason: switchedOff, RingMM: cup.Center().Distance(m.Cup.Center()) * m.Reading.Scale}
	if how.Beam {
		m.correct(h, alpha)
	}
	if line.From != NoLine {
		m.Reading.Offset = line.reference().Turn(m.Reading.Offset)
	}
	return m, nil
}

// usualCup returns the cup's circle as a film is read whose beam is not known: that of
// a marker ring for a beam as usual, but on lateral films, on which none is.
func (m Measurement) usualCup(h measure.Hip, alpha float64) (measure.CircleFit, error) {
	if m.Film.View() == Lateral {
		return m.Cup.CircleFit, nil
	}
	return h.CupCircle(m.HeadMM, alpha)
}

// readBy reports whether m has been read by a method.
func (m Measurement) readBy(how Method) bool {
	how.Ring = m.Cup.Ring.A > 0
	return m.How == how
}

// Corrected are the outlines of a film corrected for the cone beam, each the
// circle of a sphere; zero where they are not corrected.
type Corrected struct{ Head, Cup measure.Circle }

// ray returns the film's beam where the head's size does not contradict it: source to hip
// follows from the magnification that the head implies, and one that no hip has comes from
// a wrong diameter or spacing.
func (m Measurement) ray() (measure.Beam, measure.BeamDoubt, BeamUse) {
	b, doubt, use := m.Film.Beam()
	if !use.Reason.IsZero() || !(m.HeadMM > 0) || !(m.Head.R > 0) {
		return b, doubt, use
	}
	if w, doubtful := WarnMagnification(m.Film.Facts.SpacingMM * 2 * m.Head.R / m.HeadMM); doubtful {
		use.Center, use.CenterFrom = measure.Point{}, ""
		use.Reason = Note{Code: "beam.magnified", Values: w.Values}
		return measure.Beam{}, measure.BeamDoubt{}, use
	}
	return b, doubt, use
}

// correct corrects for the cone beam where the film's beam is known.
func (m *Measurement) correct(h measure.Hip, alpha float64) {
	b, doubt, use := m.ray()
	use.RingMM = m.Beam.RingMM
	m.Beam = use
	if !use.Reason.IsZero() {
		return
	}
	r, err := b.ReadHipWithin(h, m.HeadMM, alpha, doubt)
	if err != nil {
		m.Beam.Reason = NoteOf(err)
		return
	}
	m.Reading, m.How.Beam = r.Reading, true
	m.Corrected = Corrected{r.Head.Circle, r.Cup.Circle}
	m.Beam.Corrected, m.Beam.Reason, m.Beam.RingMM = true, Note{}, 0
	m.Beam.OffAxisMM, m.Beam.HipMM, m.Beam.Moved = r.OffAxis, r.SourceHip, r.Moved
}

// OneMethod returns the measurements all read by the same method: corrected for
// the cone beam, and turned by their reference lines, where every measured film
// can be, and otherwise none of them. notes says what was left out and because
// of which films. Readings that are so already stay as they are.
func OneMethod(h Hip, ms []Measurement) (out []Measurement, how Method, notes []Note) {
	how = Method{Beam: !h.BeamOff, Line: true}
	var beamed, beamless, lined, unlined []string
	var why Note
	for _, m := range ms {
		if m.Status != Measured {
			continue
		}
		name := m.Film.Name()
		if m.Film.View() == Lateral {
			// read by its axes
		} else if m.Line.From == NoLine {
			unlined = append(unlined, name)
		} else {
			lined = append(lined, name)
		}
		if _, _, use := m.ray(); !use.Reason.IsZero() {
			beamless, why = append(beamless, name), use.Reason
		} else {
			beamed = append(beamed, name)
		}
	}
	mixed := how.Beam && beamed != nil && beamless != nil
	if mixed {
		notes = append(notes, Note{Code: "beam.mixed", Values: texts.Values{"Films": names(beamless), "Why": why}})
	}
	if lined != nil && unlined != nil {
		notes = append(notes, Note{Code: "line.mixed", Values: texts.Values{"Films": names(lined), "Without": names(unlined)}})
	}
	how.Beam = how.Beam && beamless == nil
	how.Line = unlined == nil && lined != nil
	out, failed := readAll(ms, how)
	if !failed.IsZero() { // an outline that the correction cannot take
		how.Beam = false
		out, _ = readAll(ms, how)
		notes = append(notes, failed)
	}
	for i := range out {
		m := &out[i]
		if m.Status != Measured || m.How.Beam {
			continue
		}
		ring := m.Beam.RingMM
		m.Beam = Uncorrected(h, *m)
		m.Beam.RingMM = ring
	}
	return out, how, notes
}

// Uncorrected says why a film of h is read without correction for the cone beam,
// where no film of h is corrected.
func Uncorrected(h Hip, m Measurement) BeamUse {
	if h.BeamOff {
		return BeamUse{Reason: switchedOff}
	}
	_, _, use := m.ray()
	if use.Reason.IsZero() {
		return BeamUse{Reason: Note{Code: "beam.another-film"}}
	}
	return BeamUse{Reason: use.Reason}
}

// readAll reads the measured films by how where they are not read so already.
// failed names a film that the correction for the cone beam could not take.
func readAll(ms []Measurement, how Method) (out []Measurement, failed Note) {
	out = slices.Clone(ms)
	for i, m := range out {
		if m.Status != Measured || m.readBy(how) {
			continue
		}
		r, err := m.Read(how)
		if err != nil {
			continue // without outlines it stays what it is
		}
		if out[i] = r; how.Beam && !r.How.Beam {
			failed = Note{Code: "beam.untaken", Values: texts.Values{"Film": m.Film.Name(), "Why": r.Beam.Reason}}
		}
	}
	return out, failed
}

// switchedOff is the reason of films that a reader wants uncorrected.
var switchedOff = Note{Code: "beam.switched-off"}

// names joins the names of films.
func names(list []string) Note {
	if len(list) > 3 {
		return Note{Code: "films.more", Values: texts.Values{"Films": strings.Join(list[:2], ", "), "N": float64(len(list) - 2)}}
	}
	return Note{Text: strings.Join(list, ", ")}
}
