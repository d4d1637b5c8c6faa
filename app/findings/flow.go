package findings

import (
	"errors"
	"slices"

	"linerwatch/app/study"
)

// Flow is how many of something come how far: from each stage to the next those that went
// out are gone.
type Flow []Stage

// Stage is a stage of a flow: how many are there, and how many go out after it, for what.
type Stage struct {
	Key string // of its words
	N   int
	Out []Gone
}

// Gone are those that went out for one reason.
type Gone struct {
	Why study.Note
	N   int
}

// gone counts reasons in the order of first use.
type gone []Gone

func (g *gone) add(why study.Note) { g.addMany(why, 1) }

func (g *gone) addMany(why study.Note, n int) {
	for i := range *g {
		if study.NoteWords((*g)[i].Why) == study.NoteWords(why) {
			(*g)[i].N += n
			return
		}
	}
	*g = append(*g, Gone{why, n})
}

func (g gone) sum() int {
	n := 0
	for _, o := range g {
		n += o.N
	}
	return n
}

// flowOf puts stages one after another: the first has all, each next what is left.
func flowOf(all int, keys []string, out []gone) Flow {
	var f Flow
	for i, key := range keys {
		s := Stage{Key: key, N: all}
		if i < len(out) {
			s.Out = out[i]
			slices.SortStableFunc(s.Out, func(a, b Gone) int { return b.N - a.N })
			all -= out[i].sum()
		}
		f = append(f, s)
	}
	return f
}

func said(code string) study.Note { return study.Note{Code: code} }

// hipFlow counts hips.
func hipFlow(hips []Hip) Flow {
	out := make([]gone, 3)
	for _, h := range hips {
		switch {
		case !h.Refuse.IsZero() && h.Why.Code == "no-rate.no-films":
			out[0].add(said("flow.no-film"))
		case !h.Refuse.IsZero() && h.Why.Code == "no-rate.unread":
			out[0].add(said("flow.none-read"))
		case !h.Refuse.IsZero():
			out[0].add(said("flow.no-series"))
		case h.Fit == nil:
			out[1].add(said("flow.few-films"))
		case !h.Fit.HasInterval:
			out[2].add(said("flow.no-errors"))
		}
	}
	return flowOf(len(hips), []string{"flow.hips", "flow.hips-measured", "flow.hips-rate", "flow.hips-interval"}, out)
}

// filmCount counts films by how they stand, and those that count by what became of them.
type filmCount struct {
	all               int
	out, series, line gone
}

// add counts the films of a hip; err is that of its trend.
func (c *filmCount) add(say study.Say, r study.Record, h Hip, t study.Trend, err error, entries []study.FilmEntry) {
	for _, e := range entries {
		c.all++
		stands, _ := r.StandingOf(e)
		switch {
		case e.State == study.FilmExcluded:
			c.out.add(study.Note{Code: "flow.left-out", Values: study.Values{"Why": study.ChoiceIn(say, "exclusion", e.Exclusion.Code)}})
		case e.State != study.FilmRead:
			c.out.add(study.Note{Code: "flow.not-read", Values: study.Values{"Why": stands.Note()}})
		case err != nil:
			c.series.add(refusal(err))
		default:
			c.addRead(h, t, e)
		}
	}
}

// refusal is why films make no series, in words that name none of them.
func refusal(err error) study.Note {
	var f *study.FilmError
	if errors.As(err, &f) {
		return study.Note{Code: "flow.film-fault"}
	}
	return study.NoteOf(err)
}

// addRead counts a film with a reading that counts, of a hip whose films make a series.
func (c *filmCount) addRead(h Hip, t study.Trend, e study.FilmEntry) {
	i := slices.IndexFunc(t.Penetration, func(p study.Penetration) bool { return p.Film.ID == e.ID })
	switch {
	case i < 0 && e.View() == study.Lateral:
		c.series.add(said("flow.lateral"))
	case i < 0:
		c.series.add(said("flow.other-method"))
	case h.Fit == nil:
		c.line.add(said("flow.hip-without-line"))
	case !t.Penetration[i].InLine:
		c.line.add(said("flow.early"))
	}
}

// flow counts the films of all hips, and those of none.
func (c filmCount) flow(waiting []study.Film) Flow {
	var none gone
	for _, f := range waiting {
		none.add(study.Note{Code: "flow.no-hip", Values: study.Values{"Why": f.Standing().Note()}})
	}
	return flowOf(c.all+len(waiting), []string{"flow.films", "flow.films-of-hips", "flow.films-read", "flow.films-series", "flow.films-line"},
		[]gone{none, c.out, c.series, c.line})
}
