package batch

import (
	"context"

	"linerwatch/app/study"
)

// HipTold is what a report shows of a hip besides its record.
type HipTold struct {
	Changes  []study.HipChange
	Films    map[string][]study.FilmChange // by the IDs of films
	Points   map[string]study.Points       // by the IDs of readings
	Pictures map[string]HipPicture         // by the IDs of films
}

// TellHip reads what was changed of a hip and its films, the edge points of readings, and
// pictures of films, side pixels at most.
func TellHip(ctx context.Context, st study.Store, r study.Record, readings []string, shown []study.Measurement, side int) (h HipTold, err error) {
	if h.Changes, err = st.HipChanges(ctx, r.Hip.ID); err != nil {
		return h, err
	}
	h.Films, h.Points = map[string][]study.FilmChange{}, map[string]study.Points{}
	for _, f := range r.Films {
		if h.Films[f.ID], err = st.FilmChanges(ctx, f.ID); err != nil {
			return h, err
		}
	}
	for _, id := range readings {
		if h.Points[id], err = st.Points(ctx, id); err != nil {
			return h, err
		}
	}
	h.Pictures, err = HipPictures(ctx, shown, side)
	return h, err
}
