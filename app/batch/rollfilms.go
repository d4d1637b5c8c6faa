package batch

import (
	"context"
	"path/filepath"
	"strings"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// films takes the rows of a table of films, each of a film that the study has: that of the
// hip, or of either hip of the patient where no side is told, of the day, and of the file
// where that is told.
func (r *roll) films(ctx context.Context, list []roster.Entry) error {
	r.fields = roster.FilmFields()
	films := map[string][]study.Film{} // of a hip
	for _, e := range list {
		said := e.Subject()
		if r.keyless(e, said, false) {
			continue
		}
		if said.Film.Given.Date.IsZero() {
			r.bad(e.Fault("date", study.Note{Code: "cell.empty"}))
			continue
		}
		of := r.named(said)
		if len(of) == 0 {
			r.bad(e.Fault("patient", study.Note{Code: "row.no-hip", Values: study.Values{"N": 0.0}}))
			continue
		}
		found := map[string]bool{}
		for _, i := range of {
			h := r.Roll.Hips[i]
			if _, ok := films[h.ID]; !ok && h.Revision > 0 {
				var err error
				if films[h.ID], err = r.st.Films(ctx, h.ID); err != nil {
					return err
				}
			}
			for _, f := range films[h.ID] {
				if f.Date().Equal(said.Film.Given.Date) && (said.Film.Path == "" || strings.EqualFold(filepath.Base(said.Film.Path), filepath.Base(f.Path))) {
					found[f.ID] = true
				}
			}
		}
		if len(found) != 1 {
			r.bad(e.Fault("date", study.Note{Code: "row.no-film", Values: study.Values{"N": float64(len(found))}}))
			continue
		}
		for id := range found {
			if err := r.values(ctx, e, said.Values, map[study.VariableOf]string{study.OfFilm: id}, false); err != nil {
				return err
			}
		}
	}
	return nil
}
