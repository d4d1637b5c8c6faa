package batch

import (
	"context"
	"errors"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// AlignFilms gives every measured film of a hip the reference line that the pelvis
// tells against the baseline film, with nobody looking. Where one film cannot be
// compared, none gets a line, and the error names it.
func AlignFilms(ctx context.Context, hip study.Hip, ms []study.Measurement, progress func(done, total int)) ([]study.Measurement, error) {
	t, err := study.NewTrend(hip, ms)
	if err != nil {
		return ms, nil // the trend itself says why
	}
	at := -1
	for i, m := range ms {
		if m.Film.ID == t.Baseline.ID && m.Status == study.Measured {
			at = i
		}
	}
	if at < 0 {
		return ms, nil
	}
	first, err := pelvisOf(ms[at])
	if err != nil {
		return ms, err
	}
	out := append([]study.Measurement(nil), ms...)
	errs := make([]error, len(ms))
	stopped := parallel(ctx, len(ms), progress, func(i int) {
		m := &out[i]
		if m.Status != study.Measured || i == at || m.Film.View() == study.Lateral {
			return
		}
		view, err := pelvisOf(*m)
		if err == nil {
			var r measure.FilmRotation
			r, err = find.AlignPelvis(first, view)
			m.Line = study.AlignedLine(ms[at].Line, r)
		}
		if err != nil {
			errs[i] = study.WrapError(err, "align.film", study.Values{"Film": m.Film.Name(), "Why": study.NoteOf(err)})
		}
	})
	if err := errors.Join(append(errs, stopped)...); err != nil {
		return ms, err
	}
	if out[at].Line.From == study.NoLine {
		out[at].Line = study.AlignedLine(study.Line{}, measure.FilmRotation{})
	}
	return out, nil
}

// pelvisOf opens the film of a measurement again.
func pelvisOf(m study.Measurement) (find.PelvisView, error) {
	f, err := source.Open(m.Film.Path, time.Time{})
	if err != nil {
		return find.PelvisView{}, err
	}
	film := BoneBright(f, f.Pixels, m.Head.Circle, m.Cup.Circle)
	return find.PelvisView{Film: film, Head: m.Head.Circle, Cup: m.Cup.Circle, HeadMM: m.HeadMM, Side: m.Side}, nil
}
