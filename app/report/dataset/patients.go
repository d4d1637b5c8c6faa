package dataset

import (
	"context"

	"linerwatch/app/study"
)

// patientRow is a patient with the hips of the study.
type patientRow struct {
	study.Patient
	values []study.Value
	hips   int
}

func (*patientRow) of() *hipRow { return nil }

// patients are those of the hips, in the order of their first, and then the others.
type patients struct {
	list []*patientRow
	at   map[string]*patientRow
}

// add takes the patient of a hip.
func (p *patients) add(r study.Record) {
	if r.Hip.Patient == "" {
		return
	}
	one := p.of(r.Patient)
	one.hips++
	for _, v := range r.Values {
		if v.Of == study.OfPatient && one.hips == 1 {
			one.values = append(one.values, v)
		}
	}
}

func (p *patients) of(who study.Patient) *patientRow {
	if p.at == nil {
		p.at = map[string]*patientRow{}
	}
	id := who.ID()
	if p.at[id] == nil {
		p.at[id] = &patientRow{Patient: who}
		p.list = append(p.list, p.at[id])
	}
	return p.at[id]
}

// rest takes the patients that have no hip.
func (p *patients) rest(ctx context.Context, from Source) error {
	list, err := from.Patients(ctx)
	if err != nil {
		return err
	}
	for _, who := range list {
		if _, had := p.at[who.ID()]; had {
			continue
		}
		one := p.of(who)
		if one.values, err = from.Values(ctx, study.OfPatient, who.ID()); err != nil {
			return err
		}
	}
	return nil
}

// patientCode tells a patient from all others: the code, with the site's before it where
// there is one.
func patientCode(site, code string) string {
	if site == "" || code == "" {
		return oneLine(code)
	}
	return oneLine(site + "/" + code)
}

func patientColumns(variables []named) []column[*patientRow] {
	out := []column[*patientRow]{
		{"patient", patientLabel, patientHow, "", aPatient, func(p *patientRow) string { return patientCode(p.Site, p.Code) }},
		{"site", "code of the site", "", "", aSite, func(p *patientRow) string { return oneLine(p.Site) }},
		{"sex", "sex", "", "", oneOf(study.Sexes()), func(p *patientRow) string { return p.Sex }},
		{"height_cm", "height", "", "cm", aNumber.from(study.MinHeightCM).to(study.MaxHeightCM), func(p *patientRow) string { return known(p.HeightCM) }},
		{"weight_kg", "weight", "", "kg", aNumber.from(study.MinWeightKG).to(study.MaxWeightKG), func(p *patientRow) string { return known(p.WeightKG) }},
		{"bmi", "body mass index", "weight_kg over the square of height_cm/100", "kg/m2", aNumber.from(0), func(p *patientRow) string {
			if m := p.HeightCM / 100; m > 0 && p.WeightKG > 0 {
				return numberCell(p.WeightKG / (m * m))
			}
			return ""
		}},
		{"hips", "hips of the patient in the study", "", "hips", aCount, func(p *patientRow) string { return wholeCell(p.hips) }},
	}
	for _, v := range variables {
		if v.Of != study.OfPatient {
			continue
		}
		label, how := v.label()
		k := v.kind()
		if k.tells == aDate {
			k.tells = aTime // a patient has no surgery that days could be counted from
		}
		out = append(out, column[*patientRow]{v.column, label, how, v.Unit, k, func(p *patientRow) string {
			return v.cell(valueOf(p.values, v.Variable, p.ID()))
		}})
	}
	return out
}
