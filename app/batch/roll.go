package batch

import (
	"cmp"
	"context"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// Tables are tables of hips and events that are to be entered in a study.
type Tables struct {
	HipsFile, EventsFile, FilmsFile string // any may be empty; films are those that the study has
	Given                           []roster.Given
	Dates                           roster.DateOrder
	Site                            string // of rows that state none
	Now                             time.Time
}

// Roll is what tables say beside what a study has: nothing is entered before Enter.
type Roll struct {
	Mappings []roster.Mapping
	Bad      []*roster.CellError // cells that cannot be used; with one of them nothing is entered

	New, Changed, Same int      // hips
	Added, Corrected   int      // events that are new, and those that take the place of another
	Valued, Revalued   int      // values of the study's own variables that are new, and changed ones
	Changes            []string // what is changed of hips, patients and events, a line each
	Hips               []study.Hip
	study.Entries
}

// roll is a Roll that is being made.
type roll struct {
	Roll
	Tables
	st        study.Store
	fields    []roster.Field
	variables []study.Variable
	sites     map[string]bool
	patients  map[string]*person
	seen      map[string]int // line of a hip's row, by its ID
	lines     map[string]int // of the latest row that told values of what has the ID
	last      int            // number of the latest ID of a hip
}

// person is a patient with what rows have said of it.
type person struct {
	study.Patient
	was  study.Patient
	line int
	said study.Patient // by rows before
}

// PlanRoll reads tables and compares them with a study. The error is that of the study, or
// of a table that cannot be read as a whole.
func PlanRoll(ctx context.Context, st study.Store, t Tables) (Roll, error) {
	r := &roll{Tables: t, st: st, sites: map[string]bool{}, patients: map[string]*person{}, seen: map[string]int{}, lines: map[string]int{}}
	if err := r.look(ctx); err != nil {
		return r.Roll, err
	}
	given, err := r.open()
	if err != nil {
		return r.Roll, err
	}
	for _, g := range given {
		return r.Roll, study.NewError("map.no-column", study.Values{"Column": g.Column, "File": r.files(), "There": r.columns()})
	}
	for i := range r.Mappings {
		m, before := &r.Mappings[i], len(r.Bad)
		list, bad := m.Read(t.Dates)
		list = slices.DeleteFunc(list, func(e roster.Entry) bool {
			return slices.ContainsFunc(bad, func(b *roster.CellError) bool { return b.Line == e.Line })
		})
		switch {
		case m.Table == "hips":
			err = r.hips(ctx, list)
		case len(r.Bad) > 0: // of which hips they are is not known
		case m.Table == "films":
			err = r.films(ctx, list)
		default:
			err = r.events(ctx, list)
		}
		r.bad(bad...)
		slices.SortStableFunc(r.Bad[before:], func(a, b *roster.CellError) int { return cmp.Compare(a.Line, b.Line) })
		if err != nil {
			return r.Roll, err
		}
	}
	r.describe()
	return r.Roll, nil
}

// look reads what the study has.
func (r *roll) look(ctx context.Context) (err error) {
	if r.Hips, err = r.st.Hips(ctx); err != nil {
		return err
	}
	for _, h := range r.Hips {
		if n, err := strconv.Atoi(strings.TrimPrefix(h.ID, "H")); err == nil {
			r.last = max(r.last, n)
		}
	}
	if r.variables, err = r.st.Variables(ctx); err != nil {
		return err
	}
	patients, err := r.st.Patients(ctx)
	if err != nil {
		return err
	}
	for _, p := range patients {
		r.patients[p.ID()] = &person{Patient: p, was: p}
	}
	sites, err := r.st.Sites(ctx)
	for _, s := range sites {
		r.sites[s.Code] = true
	}
	return err
}

// open reads the tables and maps their columns. It returns what is given of columns that
// none has.
func (r *roll) open() (left []roster.Given, err error) {
	left = slices.Clone(r.Given)
	for _, t := range []struct {
		name, path string
		fields     []roster.Field
		of         []study.VariableOf
	}{
		{"hips", r.HipsFile, roster.HipFields(), []study.VariableOf{study.OfPatient, study.OfHip}}, {"events", r.EventsFile, roster.EventFields(), nil},
		{"films", r.FilmsFile, roster.FilmFields(), []study.VariableOf{study.OfFilm}},
	} {
		if t.path == "" {
			continue
		}
		s, err := roster.Open(t.path)
		if err != nil {
			return nil, err
		}
		of := func(g roster.Given) bool { return s.Has(g.Column) }
		given := slices.DeleteFunc(slices.Clone(r.Given), func(g roster.Given) bool { return !of(g) })
		left = slices.DeleteFunc(left, of)
		m, err := roster.Map(s, t.fields, r.variables, given, t.of...)
		if err != nil {
			return nil, err
		}
		for _, key := range []string{"patient", "side"} {
			if m.Lacks(key) && (key == "patient" || t.name == "hips") {
				return nil, study.NewError("map.no-key", study.Values{"File": s.File, "Field": key, "There": strings.Join(s.Columns, ", ")})
			}
		}
		m.Table = t.name
		r.Mappings = append(r.Mappings, m)
	}
	return left, nil
}

func (r *roll) files() string {
	var names []string
	for _, m := range r.Mappings {
		names = append(names, m.File)
	}
	return strings.Join(names, ", ")
}

func (r *roll) columns() string {
	var names []string
	for _, m := range r.Mappings {
		names = append(names, m.Sheet.Columns...)
	}
	return strings.Join(names, ", ")
}

func (r *roll) bad(e ...*roster.CellError) { r.Bad = append(r.Bad, e...) }

// hips takes the rows of a table of hips.
func (r *roll) hips(ctx context.Context, list []roster.Entry) error {
	r.fields = roster.HipFields()
	for _, e := range list {
		if err := r.hip(ctx, e); err != nil {
			return err
		}
	}
	ids := make([]string, 0, len(r.patients))
	for id := range r.patients {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		if p := r.patients[id]; p.line > 0 && p.Patient != p.was {
			r.Patients = append(r.Patients, p.Patient)
		}
	}
	return nil
}

// hip takes one row: a new hip, or what is to be changed of one that the study has.
func (r *roll) hip(ctx context.Context, e roster.Entry) error {
	said := e.Subject()
	if faulty := r.keyless(e, said, true); faulty {
		return nil
	}
	list := r.named(said)
	if len(list) > 1 {
		r.bad(e.Fault("patient", study.Note{Code: "row.several", Values: study.Values{"N": float64(len(list))}}))
		return nil
	}
	base := roster.Subject{}
	if len(list) == 1 {
		base.Hip = r.Roll.Hips[list[0]]
	} else {
		base.Hip.Site = r.Site
	}
	site := cmp.Or(said.Patient.Site, base.Hip.Site)
	p := r.person(study.Patient{Site: site, Code: said.Patient.Code})
	base.Patient = p.Patient
	now := e.Onto(base)
	if line := r.seen[key(now.Hip)]; line > 0 {
		r.bad(e.Fault("patient", study.Note{Code: "row.twice", Values: study.Values{"Hip": now.Hip.Label(), "Line": float64(line)}}))
		return nil
	}
	r.seen[key(now.Hip)] = e.Line
	faults := append(e.Faults(now.Hip.Validate(r.Now), r.fields), e.Faults(now.Patient.Validate(), r.fields)...)
	faults = append(faults, p.contradicted(e, said.Patient)...)
	p.line = e.Line
	if len(faults) > 0 {
		r.bad(faults...)
		return nil
	}
	p.Patient = now.Patient
	if site != "" && !r.sites[site] {
		r.sites[site] = true
		r.Sites = append(r.Sites, study.Site{Code: site})
	}
	id := r.put(now.Hip, base.Hip)
	return r.values(ctx, e, now.Values, map[study.VariableOf]string{study.OfHip: id, study.OfPatient: p.ID()}, len(list) == 0)
}

func key(h study.Hip) string { return h.Site + "/" + h.Patient + "/" + h.Side.String() }

// keyless reports whether a row does not say of which hip it is, and says so.
func (r *roll) keyless(e roster.Entry, said roster.Subject, side bool) bool {
	n := len(r.Bad)
	if said.Patient.Code == "" {
		r.bad(e.Fault("patient", study.Note{Code: "cell.empty"}))
	}
	if side && said.Hip.Side == study.SideUnknown {
		r.bad(e.Fault("side", study.Note{Code: "cell.empty"}))
	}
	return len(r.Bad) > n
}

// named returns the hips that a row may be of, as they will be. A row without a site may be
// of any.
func (r *roll) named(s roster.Subject) (list []int) {
	site := cmp.Or(s.Patient.Site, r.Site)
	for i, h := range r.Roll.Hips {
		if h.Patient == s.Patient.Code && (site == "" || h.Site == site) && (s.Hip.Side == study.SideUnknown || h.Side == s.Hip.Side) {
			list = append(list, i)
		}
	}
	return list
}

func (r *roll) person(p study.Patient) *person {
	if r.patients[p.ID()] == nil {
		r.patients[p.ID()] = &person{Patient: p}
	}
	return r.patients[p.ID()]
}

// contradicted says where a row says of the patient something else than one before.
func (p *person) contradicted(e roster.Entry, said study.Patient) (bad []*roster.CellError) {
	why := study.Note{Code: "row.otherwise", Values: study.Values{"Line": float64(p.line)}}
	if said.Sex != "" && p.said.Sex != "" && said.Sex != p.said.Sex {
		bad = append(bad, e.Fault("sex", why))
	}
	if said.HeightCM != 0 && p.said.HeightCM != 0 && said.HeightCM != p.said.HeightCM {
		bad = append(bad, e.Fault("height_cm", why))
	}
	if said.WeightKG != 0 && p.said.WeightKG != 0 && said.WeightKG != p.said.WeightKG {
		bad = append(bad, e.Fault("weight_kg", why))
	}
	p.said = study.Patient{Sex: cmp.Or(said.Sex, p.said.Sex), HeightCM: cmp.Or(said.HeightCM, p.said.HeightCM), WeightKG: cmp.Or(said.WeightKG, p.said.WeightKG)}
	return bad
}

// put notes what becomes of a hip, and returns its ID.
func (r *roll) put(now, was study.Hip) string {
	if was.ID == "" {
		r.last++
		now.ID = fmt.Sprint("H", r.last)
		r.New++
		r.Roll.Hips = append(r.Roll.Hips, now)
		r.Entries.Hips = append(r.Entries.Hips, now)
		return now.ID
	}
	if now.Surgery.Equal(was.Surgery) {
		now.Surgery = was.Surgery
	}
	if reflect.DeepEqual(now, was) {
		r.Same++
		return was.ID
	}
	r.Changed++
	for _, d := range now.Since(was, func(id string) string { return id }) {
		r.Changes = append(r.Changes, now.Label()+": "+d.String())
	}
	i := slices.IndexFunc(r.Roll.Hips, func(h study.Hip) bool { return h.ID == was.ID })
	r.Roll.Hips[i] = now
	r.Entries.Hips = append(r.Entries.Hips, now)
	return was.ID
}

// values notes the values of the study's own variables that are new or others than they were.
func (r *roll) values(ctx context.Context, e roster.Entry, list []study.Value, of map[study.VariableOf]string, fresh bool) error {
	had := map[string]string{} // text by what the variable is of and its name
	for kind, id := range of {
		if len(list) == 0 || fresh && kind == study.OfHip {
			continue
		}
		was, err := r.st.Values(ctx, kind, id)
		if err != nil {
			return err
		}
		for _, v := range was {
			had[string(v.Of)+" "+v.Name] = v.Text
		}
	}
	for _, v := range list {
		v.ID = of[v.Of]
		twin := slices.IndexFunc(r.Values, func(w study.Value) bool { return w.Of == v.Of && w.Name == v.Name && w.ID == v.ID })
		switch {
		case twin >= 0 && r.Values[twin].Text != v.Text:
			code := map[bool]string{true: "row.otherwise-film", false: "row.otherwise"}[v.Of == study.OfFilm]
			r.bad(e.Fault(v.Name, study.Note{Code: code, Values: study.Values{"Line": float64(r.lines[v.ID])}}))
		case twin < 0:
			r.value(e, v, had[string(v.Of)+" "+v.Name])
		}
	}
	return nil
}

// value notes a value that is another one than it was.
func (r *roll) value(e roster.Entry, v study.Value, was string) {
	switch was {
	case v.Text:
		return
	case "":
		r.Valued++
	default:
		r.Revalued++
		r.Changes = append(r.Changes, study.NoteWords(study.Note{Code: "roll.revalued", Values: study.Values{
			"File": e.File(), "Line": float64(e.Line), "Name": v.Name, "Now": v.Text, "Was": was}}))
	}
	r.Values = append(r.Values, v)
	r.lines[v.ID] = e.Line
}

// describe notes the variables that columns are to be of and the study has not, or has
// otherwise.
func (r *roll) describe() {
	for _, m := range r.Mappings {
		for _, c := range m.Columns {
			if c.Variable == nil {
				continue
			}
			v := *c.Variable
			i := slices.IndexFunc(r.variables, func(w study.Variable) bool { return w.Of == v.Of && w.Name == v.Name })
			if i >= 0 {
				v.Revision, v.Label = r.variables[i].Revision, r.variables[i].Label
				if reflect.DeepEqual(v, r.variables[i]) {
					continue
				}
			}
			r.Variables = append(r.Variables, v)
		}
	}
}

// Amended counts what the study has and is to be changed, which needs a reason.
func (r Roll) Amended() int { return r.Changed + r.Corrected + r.Revalued }

// Empty reports whether there is nothing to enter.
func (r Roll) Empty() bool {
	e := r.Entries
	return len(e.Sites)+len(e.Patients)+len(e.Hips)+len(e.Variables)+len(e.Values)+len(e.Events) == 0
}

// Enter enters what the tables say, all of it or nothing. Films on which nothing was found
// for a hip with another head or side are to be searched again.
func (r Roll) Enter(ctx context.Context, st study.Store, by study.Stamp) error {
	if len(r.Bad) > 0 {
		return study.NewError("roll.bad", study.Values{"N": float64(len(r.Bad))})
	}
	if r.Empty() {
		return nil
	}
	before, err := st.Hips(ctx)
	if err != nil {
		return err
	}
	e := r.Entries
	e.Events = slices.Clone(e.Events)
	for i := range e.Events {
		e.Events[i].Stamp = by
	}
	if _, err := st.Enter(ctx, e, by); err != nil {
		return err
	}
	for _, h := range e.Hips {
		i := slices.IndexFunc(before, func(b study.Hip) bool { return b.ID == h.ID })
		if i < 0 || before[i].Side == h.Side && before[i].Implant.HeadMM == h.Implant.HeadMM {
			continue
		}
		links, err := st.Links(ctx, h.ID)
		if err != nil {
			return err
		}
		for _, l := range links {
			if l.Searched != study.Refused {
				continue
			}
			if err := st.SaveLink(ctx, study.Link{HipID: l.HipID, FilmID: l.FilmID}, by); err != nil {
				return err
			}
		}
	}
	return nil
}
