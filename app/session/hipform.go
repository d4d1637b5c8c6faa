package session

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// HipForm is the form in which a hip is asked: implant and dates, the patient, and what the
// study keeps of its own of both.
type HipForm struct {
	Form
	Why   string // of a change of what was known
	saved bool   // the study has the hip, so that what is corrected needs a reason
	base  roster.Subject
}

// The fields of a HipForm in which something is needed, as its faults name them.
const (
	FieldPatient = "patient"
	FieldSide    = "side"
	FieldSurgery = "surgery"
	FieldHead    = "head_mm"
	FieldWhy     = "why"
)

// Details is what was entered of a hip.
type Details struct {
	Hip     study.Hip
	Patient study.Patient
	Values  []study.Value // that are others than they were, without the ID of whose they are
	Why     string
	was     study.Patient
}

// Form returns the form filled with what is known: the hip's details, or what the films say.
// The error is that of the study, whose patients and variables are then not asked.
func (s *Session) Form() (HipForm, error) {
	f := HipForm{base: roster.Subject{Hip: s.hip}}
	if !s.hipKnown {
		k := s.Claimed()
		f.base.Hip = study.Hip{Patient: k.Patient, Side: k.Side, StartYears: study.DefaultStartYears}
	}
	f.saved = s.hipKnown && s.hip.Revision > 0
	f.base.Patient = study.Patient{Site: f.base.Hip.Site, Code: f.base.Hip.Patient}
	fields := roster.HipFields()
	own, err := s.book.ownAsks(&f)
	who := []string{"patient", "site"}
	if s.book.store != nil && err == nil {
		who = append(who, "sex", "height_cm", "weight_kg")
	}
	f.Blocks = []Block{
		{say("asked.of-patient"), asks(fields, f.base, who...)},
		{say("asked.of-surgery"), asks(fields, f.base, "side", "surgery", "age", "group", "start_years")},
		{say("asked.of-implant"), asks(fields, f.base, implantFields()...)},
	}
	if len(own) > 0 {
		f.Blocks = append(f.Blocks, Block{say("asked.of-study"), own})
	}
	for _, name := range []string{FieldPatient, FieldSide, FieldSurgery, FieldHead} {
		f.ask(name).Needed = true
	}
	return f, err
}

// knownForm is a form of the open hip, of one state of the study.
type knownForm struct {
	hip          string
	revision     int
	writes, seen int64 // of the guard
	form         HipForm
}

// Known returns what is known of the open hip, as the form has it. The study is read where
// something was saved since.
func (b *Book) Known() (Form, error) {
	if b.guard == nil {
		return Form{}, nil
	}
	now := knownForm{hip: b.s.hip.ID, revision: b.s.hip.Revision, writes: b.guard.writes.Load(), seen: b.guard.seen}
	if k := b.known; k.hip == now.hip && k.revision == now.revision && k.writes == now.writes && k.seen == now.seen {
		return k.form.Form, nil
	}
	var err error
	if now.form, err = b.s.Form(); err == nil {
		b.known = now
	}
	return now.form.Form, err
}

// ownAsks reads the patient of a form, and returns what is asked of variables of the patient
// and the hip.
func (b *Book) ownAsks(f *HipForm) (list []Ask, err error) {
	if b.store == nil {
		return nil, nil
	}
	ctx := context.Background()
	if f.base.Patient, err = b.patient(ctx, f.base.Patient); err != nil {
		return nil, err
	}
	known, err := b.store.Variables(ctx)
	if err != nil {
		return nil, err
	}
	had, err := b.store.Values(ctx, study.OfPatient, f.base.Patient.ID())
	if err == nil && f.base.Hip.ID != "" {
		var more []study.Value
		more, err = b.store.Values(ctx, study.OfHip, f.base.Hip.ID)
		had = append(had, more...)
	}
	for _, v := range known {
		if v.Of != study.OfFilm {
			list = append(list, ofVariable(v, valueIn(had, v)))
		}
	}
	return list, err
}

func valueIn(list []study.Value, v study.Variable) string {
	for _, o := range list {
		if o.Of == v.Of && o.Name == v.Name {
			return o.Text
		}
	}
	return ""
}

// patient returns a patient as the study has it, or as it is where it has none of that code.
func (b *Book) patient(ctx context.Context, p study.Patient) (study.Patient, error) {
	list, err := b.store.Patients(ctx)
	if i := slices.IndexFunc(list, func(o study.Patient) bool { return o.ID() == p.ID() }); i >= 0 {
		return list[i], err
	}
	return p, err
}

// Read reads the form; now is the present time. Faults name their fields. What can be read
// is checked by study.Hip.Validate and study.Patient.Validate.
func (f HipForm) Read(now time.Time) (Details, []FormFault) {
	s := f.base
	faults := f.into(&s)
	faults = f.join(f.join(faults, s.Patient.Validate()), s.Hip.Validate(now))
	if f.saved && f.corrects() && strings.TrimSpace(f.Why) == "" {
		faults = append(faults, FormFault{FieldWhy, say("asked.why-needed")})
	}
	d := Details{Hip: s.Hip, Patient: s.Patient, Why: f.Why, was: f.base.Patient}
	for _, v := range s.Values {
		a := f.ask(string(v.Of) + " " + v.Name)
		if v.Text != a.was || s.Patient.ID() != f.base.Patient.ID() && v.Of == study.OfPatient && v.Text != "" {
			d.Values = append(d.Values, v)
		}
	}
	return d, faults
}

// SetDetails takes what was entered of the hip. Implant and dates are one named step, as
// SetHip has it; the patient and the study's own variables are no step of Undo, and changed
// back in the form. Where another has changed the hip meanwhile, the rest is kept, and the
// error is that of SetHip.
func (s *Session) SetDetails(d Details) error {
	fresh := s.hip.Revision == 0
	if fresh && d.rest() && s.book.store == nil {
		return ErrNoStudy
	}
	if !fresh {
		if err := s.book.enterRest(d); err != nil {
			return err
		}
	}
	if !s.hipKnown || d.Hip != s.hip {
		if err := s.setHip(d.Hip, study.Note{Code: "step.details"}, d.Why); err != nil {
			return err
		}
	}
	if fresh {
		return s.book.enterRest(d)
	}
	return nil
}

// rest reports whether something is entered beside the hip.
func (d Details) rest() bool {
	p := d.Patient
	return len(d.Values) > 0 || p.Sex != d.was.Sex || p.HeightCM != d.was.HeightCM || p.WeightKG != d.was.WeightKG
}

// enterRest saves the patient and the values, where they are others than they were. A
// patient of a corrected code has what the one of the other code had, where it was not known.
func (b *Book) enterRest(d Details) error {
	renamed := d.Patient.ID() != d.was.ID() && d.was.Revision > 0
	if b.store == nil || !d.rest() && !renamed {
		return nil
	}
	ctx := context.Background()
	there, err := b.patient(ctx, study.Patient{Site: d.Patient.Site, Code: d.Patient.Code})
	if err != nil {
		return err
	}
	var e study.Entries
	if p := d.onto(there); p != there || there.Revision == 0 {
		e.Patients = []study.Patient{p}
	}
	if e.Sites, err = b.newSite(ctx, d.Patient.Site); err != nil {
		return err
	}
	for _, v := range d.Values {
		v.ID = there.ID()
		if v.Of == study.OfHip {
			v.ID = b.s.hip.ID
		}
		e.Values = append(e.Values, v)
	}
	if len(e.Patients)+len(e.Values) == 0 {
		return nil
	}
	if _, err = b.store.Enter(ctx, e, b.s.because(d.Why)); err != nil {
		return err
	}
	b.s.overview.outdatedAll() // the patient's other hip, too
	b.s.changed(HipChanged | StudyChanged)
	return nil
}

// onto returns the patient that the study has with what was entered. A patient of another
// code that is known keeps what was not changed in the form. One that was changed since the
// form was filled is a conflict, by its revision.
func (d Details) onto(there study.Patient) study.Patient {
	p := d.Patient
	p.Revision = there.Revision
	if p.ID() == d.was.ID() {
		p.Revision = d.was.Revision
		return p
	}
	if there.Revision > 0 {
		if p.Sex == d.was.Sex {
			p.Sex = there.Sex
		}
		if p.HeightCM == d.was.HeightCM {
			p.HeightCM = there.HeightCM
		}
		if p.WeightKG == d.was.WeightKG {
			p.WeightKG = there.WeightKG
		}
	}
	return p
}

// newSite returns a site of the code, where that is a new one.
func (b *Book) newSite(ctx context.Context, code string) ([]study.Site, error) {
	list, err := b.store.Sites(ctx)
	if err != nil || code == "" || slices.ContainsFunc(list, func(s study.Site) bool { return s.Code == code }) {
		return nil, err
	}
	return []study.Site{{Code: code}}, nil
}

// Anew returns the form with what the study has now of a patient that was changed elsewhere,
// whose change the error of SetDetails tells: what was entered here stays.
func (f HipForm) Anew(err error) HipForm {
	var c *study.ConflictError
	if errors.As(err, &c) {
		if p, ok := c.Theirs.(study.Patient); ok {
			f.base.Patient = p
		}
	}
	return f
}
