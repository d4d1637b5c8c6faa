package session

import (
	"image"
	"math"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/fit"
)

// The reasons of package measure for a point that has no place of its own.
const (
	noEdge  = "no edge"
	offFilm = "off the film"
)

// byReader is the reason of an edge point that the reader left out.
const byReader = "left out by the reader"

// ErrFixedFit is returned where an outline's points cannot be chosen by hand.
var ErrFixedFit = study.NewError("points.ring", nil)

// EdgeAt returns the index of the edge point of the chosen outline that lies
// nearest to view point (x, y), within reach of the pointer; -1 where there is none.
func (m *Mouse) EdgeAt(x, y float64) int {
	const reach = 6
	f := m.s.strip.selected
	if f == nil || f.Draft == nil {
		return -1
	}
	best, least := -1, reach*m.s.viewer.scale
	for i, e := range f.Draft.Trace(m.s.edits.part).Fit.Edges {
		vx, vy := f.Camera.ToView(e.Point)
		if d := math.Hypot(vx-x, vy-y); d < least {
			best, least = i, d
		}
	}
	return best
}

// EdgeWords describes an edge point of the chosen outline.
func (e *Edits) EdgeWords(i int) string {
	f := e.s.strip.selected
	if f == nil || f.Draft == nil {
		return ""
	}
	edges := f.Draft.Trace(e.part).Outline().Edges
	if i < 0 || i >= len(edges) {
		return ""
	}
	at := edges[i]
	where := say("points.edge", "Part", PartWord(e.part), "Degrees", clock(at.Angle))
	if at.Reject != "" {
		return say("points.out", "Where", where, "Why", rejectWords(at.Reject))
	}
	return say("points.kept", "Where", where, "Residual", at.Residual)
}

// rejectWords says why a point was left out.
func rejectWords(reason string) string {
	switch reason {
	case "neck":
		return say("points.neck")
	case noEdge:
		return say("points.nothing")
	case "other outline":
		return say("points.other")
	}
	return reason
}

// clock returns an angle of package measure, from +x towards +y, as degrees from
// the top of the film, clockwise.
func clock(angle float64) float64 { return math.Mod(angle+450, 360) }

// ToggleEdge leaves an edge point of the chosen outline out of the fit, or takes
// it in, and fits the circle to the kept ones, as one step.
func (e *Edits) ToggleEdge(i int) error {
	return e.chooseEdges(func(k int, _ measure.Edge) bool { return k == i })
}

// ToggleSector does so with all edge points between two angles from the top,
// clockwise, in degrees. Where any of them is kept all are left out, otherwise all
// are taken in.
func (e *Edits) ToggleSector(from, to float64) error {
	if to < from {
		from, to = to, from
	}
	return e.chooseEdges(func(_ int, e measure.Edge) bool { a := clock(e.Angle); return a >= from && a <= to })
}

func (e *Edits) chooseEdges(in func(i int, e measure.Edge) bool) error {
	film := e.s.strip.selected
	if film == nil || film.Draft == nil || e.s.mouse.busy() {
		return nil
	}
	t := film.Draft.Trace(e.part)
	if t.Fit.Ring.A > 0 {
		return ErrFixedFit
	}
	kept, touched := false, 0
	for i, e := range t.Fit.Edges {
		if in(i, e) && e.Reject != noEdge && e.Reject != offFilm {
			touched++
			kept = kept || e.Reject == ""
		}
	}
	if touched == 0 {
		return nil
	}
	edges := append([]measure.Edge(nil), t.Fit.Edges...)
	n := 0
	for i, e := range edges {
		switch {
		case !in(i, e):
		case kept && e.Reject == "":
			edges[i].Reject = byReader
			n++
		case !kept && e.Reject != noEdge && e.Reject != offFilm:
			edges[i].Reject = ""
			n++
		}
	}
	o, err := refit(batch.BoneBright(film.file, film.pixels, film.Draft.Head.At, film.Draft.Cup.At), t.Fit, edges)
	if err != nil {
		return study.WrapError(err, "points.stay", study.Values{"Why": study.NoteOf(err)})
	}
	before := film.memory()
	e.setDraft(film, film.Draft.with(e.part, fitted(o)))
	step, said := "step.edge-out", "points.left-out"
	if !kept {
		step, said = "step.edge-in", "points.taken-in"
	}
	e.s.history.record(change{name: e.s.strip.onPart(step, e.part, film), film: film, before: before, after: film.memory()})
	e.s.Say("%s", say(said, "N", n, "Part", PartWord(e.part)))
	return nil
}

// refit fits a circle to the kept edge points. Neighbouring points err together,
// which find.Refine allows for in the covariance; the same factor is taken
// here. img is nil where the film is not to be had.
func refit(img *image.Gray16, old measure.Outline, edges []measure.Edge) (measure.Outline, error) {
	f, err := fit.Circle(keptPoints(edges), old.Circle)
	if err != nil {
		return old, err
	}
	if plain, err := fit.Circle(keptPoints(old.Edges), old.Circle); err == nil {
		k := 1.0
		if was, now := trace(old.Cov), trace(plain.Cov); now > 0 && was > now {
			k = was / now
		}
		for i := range f.Cov {
			for j := range f.Cov[i] {
				f.Cov[i][j] *= k
			}
		}
	}
	for i := range edges {
		edges[i].Residual = f.Distance(edges[i].Point)
	}
	o := measure.Outline{CircleFit: f, Edges: edges}
	if img != nil {
		o = find.Shown(img, o)
	}
	return o, nil
}

func keptPoints(edges []measure.Edge) []measure.Point {
	var out []measure.Point
	for _, e := range edges {
		if e.Reject == "" {
			out = append(out, e.Point)
		}
	}
	return out
}

func trace(m [3][3]float64) float64 { return m[0][0] + m[1][1] + m[2][2] }

// Residual is an edge point as the residual strip shows it.
type Residual struct {
	Index  int
	Angle  float64 // degrees from the top, clockwise
	Px     float64
	Kept   bool
	None   bool // no edge was found at this angle
	Reason string
}

// Residuals returns the edge points of the chosen outline of the selected film,
// against the outline as it is now.
func (e *Edits) Residuals() []Residual {
	f := e.s.strip.selected
	if f == nil || f.Draft == nil {
		return nil
	}
	o := f.Draft.Trace(e.part).Outline()
	out := make([]Residual, 0, len(o.Edges))
	for i, e := range o.Edges {
		out = append(out, Residual{i, clock(e.Angle), e.Residual, e.Reject == "", e.Reject == noEdge || e.Reject == offFilm, rejectWords(e.Reject)})
	}
	return out
}
