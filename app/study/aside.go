package study

// Aside returns the penetration of a measured film that the trend leaves out,
// read by the trend's method and counted from its baseline; ok is false where the
// film has no date or cannot be read so.
func (t Trend) Aside(m Measurement) (p Penetration, ok bool) {
	if m.Status != Measured || m.Film.Date().IsZero() {
		return p, false
	}
	if m, ok = m.By(t.Method); !ok {
		return p, false
	}
	for _, base := range t.Films {
		if base.Film.ID == t.Baseline.ID {
			return Penetration{Film: m.Film, Years: t.Hip.Years(m.Film.Date()), Vector: m.Reading.Offset.Sub(base.Reading.Offset)}, true
		}
	}
	return p, false
}
