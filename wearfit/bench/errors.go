package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"

	"linerwatch/wearfit/mixed"
)

// reading is one of a cohort whose readings have errors of every kind.
type reading struct {
	patient, hip, group, film, reader string
	age, years, mm, se, base          float64
}

// readings draws hips of some patients, some films read twice, with errors that are
// stated, a film's and a reader's own on top, and the baseline film's shared by a hip.
func readings(seed uint64) (out []reading) {
	r := rand.New(rand.NewPCG(seed, 12))
	normal := func(sd float64) float64 { return sd * r.NormFloat64() }
	digits := func(v float64, n int) float64 { p := math.Pow10(n); return math.Round(v*p) / p }
	for p := range 24 {
		at, slope := normal(0.05), normal(0.015)
		age, group := math.Round(45+30*r.Float64()), []string{"plain", "linked"}[r.IntN(2)]
		for h := range 1 + (p+1)%3/2 {
			a, b, base := normal(0.06), normal(0.02), digits(0.02+0.06*r.Float64(), 3)
			shared := normal(base)
			for _, year := range []float64{1, 2, 5, 8, 11} {
				t, film := digits(year+0.4*r.Float64(), 2), normal(0.03)
				for k := range 1 + r.IntN(2) {
					sd := []float64{0.02, 0.05}[k]
					g := reading{fmt.Sprintf("P%02d", p), fmt.Sprintf("P%02d%c", p, 'L'+rune(6*h)), group, fmt.Sprint(year), string(rune('A' + k)), age, t, 0, digits(0.02+0.07*r.Float64(), 3), base}
					rate := 0.08 + slope + b
					if group == "linked" {
						rate -= 0.03
					}
					g.mm = digits(0.1+at+a+rate*t+shared+film+normal(math.Hypot(g.se, sd)), 4)
					out = append(out, g)
				}
			}
		}
	}
	return out
}

// erring writes readings to out and what the models of .ci/mixed.R make of them to w, as
// that does: model,quantity,value.
func erring(w io.Writer, seed uint64, out string) error {
	list := readings(seed)
	var b strings.Builder
	b.WriteString("patient,hip,group,age,years,film,reader,penetration,se,se_base\n")
	for _, g := range list {
		fmt.Fprintf(&b, "%s,%s,%s,%g,%g,%s,%s,%g,%g,%g\n", g.patient, g.hip, g.group, g.age, g.years, g.film, g.reader, g.mm, g.se, g.base)
	}
	if err := os.WriteFile(out, []byte(b.String()), 0o600); err != nil {
		return err
	}
	years := func(reading, float64) []float64 { return nil }
	group := func(g reading, in float64) []float64 { return []float64{in, g.years * in} }
	aged := func(g reading, in float64) []float64 {
		return []float64{in, g.age - 60, g.years * in, g.years * (g.age - 60)}
	}
	for _, c := range []struct {
		name string
		more func(g reading, in float64) []float64 // fixed effects after 1 and years
		keep func(d *mixed.Data)
		o    mixed.Options
	}{
		{"plain", group, func(d *mixed.Data) { d.SE, d.BaseSE, d.Class, d.Film, d.Patient = nil, nil, nil, nil, nil }, mixed.Options{}},
		{"film", years, func(d *mixed.Data) { d.SE, d.BaseSE, d.Class, d.Patient = nil, nil, nil, nil }, mixed.Options{}},
		{"patient", group, func(d *mixed.Data) { d.SE, d.BaseSE, d.Class, d.Film = nil, nil, nil, nil }, mixed.Options{PatientSlope: true}},
		{"class", years, func(d *mixed.Data) { d.SE, d.BaseSE, d.Film, d.Patient = nil, nil, nil, nil }, mixed.Options{}},
		{"known", years, func(d *mixed.Data) { d.Class, d.Film, d.Patient = nil, nil, nil }, mixed.Options{}},
		{"known_ml", years, func(d *mixed.Data) { d.Class, d.Film, d.Patient = nil, nil, nil }, mixed.Options{ML: true}},
		{"all", aged, func(d *mixed.Data) { d.Class, d.Patient = nil, nil }, mixed.Options{}},
	} {
		d := tableOf(list, c.more)
		c.keep(&d)
		m, err := mixed.Fit(d, c.o)
		if err != nil {
			return fmt.Errorf("%s: %w", c.name, err)
		}
		if err := quantities(w, c.name, m); err != nil {
			return err
		}
	}
	return nil
}

func tableOf(list []reading, more func(g reading, in float64) []float64) (d mixed.Data) {
	for i, g := range list {
		in := 0.0
		if g.group == "linked" {
			in = 1
		}
		d.Hip, d.Patient, d.Time, d.Value = append(d.Hip, g.hip), append(d.Patient, g.patient), append(d.Time, g.years), append(d.Value, g.mm)
		d.SE, d.BaseSE, d.Class, d.Film = append(d.SE, g.se), append(d.BaseSE, g.base), append(d.Class, g.reader), append(d.Film, g.film)
		row := append([]float64{1, g.years}, more(g, in)...)
		if i == 0 {
			d.Fixed = make([][]float64, len(row))
		}
		for j, v := range row {
			d.Fixed[j] = append(d.Fixed[j], v)
		}
	}
	return d
}

// quantities writes what a model estimates.
func quantities(w io.Writer, name string, m mixed.Model) error {
	var err error
	say := func(what string, v float64) {
		if err == nil {
			_, err = fmt.Fprintf(w, "%s,%s,%.12g\n", name, what, v)
		}
	}
	say("loglik", m.LogLik)
	for j := range m.Coef {
		e := m.Estimate(j)
		say(fmt.Sprint("b", j), e.Value)
		say(fmt.Sprint("se", j), e.SE)
	}
	say("sd_intercept", m.SDIntercept)
	say("sd_slope", m.SDSlope)
	say("sd_film", m.SDFilm)
	say("sd_patient_intercept", m.SDPatient)
	say("sd_patient_slope", m.SDPatientSlope)
	for _, c := range m.Classes {
		say("sigma_"+c.Class, c.SD)
	}
	if m.Classes == nil {
		say("sigma", m.Sigma)
	}
	if k, fault := mixed.NewKenward(m); fault == nil {
		for j := range m.Coef {
			e := k.Estimate(j)
			say(fmt.Sprint("kr_se", j), e.SE)
			say(fmt.Sprint("kr_df", j), e.DF)
		}
		if len(m.Coef) == 4 {
			f, fault := k.Test([][]float64{{0, 0, 1, 0}, {0, 0, 0, 1}})
			if fault == nil {
				say("kr_f", f.F)
				say("kr_scale", f.Scale)
				say("kr_ddf", f.DF2)
				say("kr_p", f.P)
			}
		}
	}
	return err
}
