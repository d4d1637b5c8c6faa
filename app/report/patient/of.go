package patient

import "linerwatch/app/study"

// Of returns what there is to tell of a hip by the readings of a reader that are accepted,
// and with unchecked also by what the program proposes on other films. It fails where there
// is nothing to print: with study.ErrNoneAccepted where nobody has accepted a reading, or
// where the readings make no series.
func Of(r study.Record, reader string, unchecked bool) (h Hip, err error) {
	h.Hip = r.Hip
	for _, e := range r.Entries(reader) {
		switch {
		case e.State == study.FilmExcluded:
			h.LeftOut++
		case e.State == study.FilmUnread && len(r.OutlinesOf(e.ID)) > 0:
			h.Waiting++
		}
	}
	if unchecked {
		h.Trend, h.Unchecked, err = r.Unchecked(reader)
		h.Waiting -= h.Unchecked
	} else {
		h.Trend, err = r.Accepted(reader)
	}
	return h, err
}
