package study

import (
	"errors"
	"slices"
)

// Unjoined is a film that cannot be of a series, and why.
type Unjoined struct {
	Film Film
	Why  Note
}

// Joinable returns the measurements of a hip without those that nobody has accepted and
// that no series with the others can hold, such as one of a film from before surgery;
// out says why. Accepted ones stay, whatever they are: NewTrend then refuses all, as it
// does wherever it has them alone.
func Joinable(h Hip, accepted, proposed []Measurement) (in []Measurement, out []Unjoined) {
	if all := slices.Concat(accepted, proposed); checkViews(h, all) == nil {
		return all, nil
	}
	in = append(in, accepted...)
	for _, m := range dateOrder(proposed) {
		joined := append(in[:len(in):len(in)], m)
		err := checkViews(h, joined)
		if err == nil || checkViews(h, in) != nil && checkFilm(h, &m) == nil {
			in = joined
			continue
		}
		why := NoteOf(err)
		var f *FilmError
		if errors.As(err, &f) {
			why = f.Reason
		}
		out = append(out, Unjoined{m.Film, why})
	}
	return in, out
}

// LaterFilm is a film of a later series of the hip, which no trend of this one holds.
func LaterFilm(h Hip, f Film) Unjoined { return Unjoined{f, exchanged(h, f)} }

// checkViews is checkSeries of the films of each view.
func checkViews(h Hip, ms []Measurement) error {
	ap, lateral := takeLateral(dateOrder(ms))
	return errors.Join(checkSeries(h, ap), checkSeries(h, lateral))
}
