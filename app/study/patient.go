package study

import (
	"strings"

	"linerwatch/assets/texts"
)

// Patient is somebody of a study, under a code. Who that is (name, date of birth) is never
// in a study. A hip names its patient by Site and Patient; that there is a Patient of it is
// not needed.
type Patient struct {
	Site, Code string  // tell one patient from another; Site may be empty
	Sex        string  // code of Sexes, or "" where unknown
	HeightCM   float64 // 0 where unknown
	WeightKG   float64 // 0 where unknown
	Revision   int     // counts what has been saved of the patient; 0 for one that has not
}

// ID returns what tells the patient from others in the study.
func (p Patient) ID() string { return patientID(p.Site, p.Code) }

// PatientID returns the ID of the hip's patient.
func (h Hip) PatientID() string { return patientID(h.Site, h.Patient) }

// patientID puts a slash after the site, in which there is none.
func patientID(site, code string) string { return site + "/" + code }

// Label returns what people call the patient.
func (p Patient) Label() string { return strings.TrimSpace(p.Site + " " + p.Code) }

// Site is a place that takes part in a study.
type Site struct {
	Code     string
	Name     string // free text; may be empty
	Revision int    // counts what has been saved of the site; 0 for one that has not
}

// Sexes lists the sexes.
func Sexes() []Choice {
	return []Choice{{"female", texts.Say("sex.female", nil)}, {"male", texts.Say("sex.male", nil)}, {"other", texts.Say("sex.other", nil)}}
}

// The limits of what is entered for a patient. They catch slips of the keyboard and
// mixed-up units; common practice, no source.
const (
	MinHeightCM = 100
	MaxHeightCM = 230
	MinWeightKG = 25
	MaxWeightKG = 300
	MaxAge      = 110
)

// Validate checks what was entered for a patient. The error is a *FaultsError that names
// every fault at once.
func (p Patient) Validate() error {
	return faults([]Fault{
		{"site", siteFault(p.Site)},
		{"patient", patientFault(p.Code)},
		{"sex", choiceFault("fault.sex", Sexes(), p.Sex)},
		{"height", within("fault.height", p.HeightCM, MinHeightCM, MaxHeightCM)},
		{"weight", within("fault.weight", p.WeightKG, MinWeightKG, MaxWeightKG)},
	})
}

// Validate checks what was entered for a site, as that of Patient does.
func (s Site) Validate() error {
	if s.Code == "" {
		return faults([]Fault{{"site", Note{Code: "fault.no-site"}}})
	}
	return faults([]Fault{{"site", siteFault(s.Code)}})
}

func patientFault(code string) Note {
	if code == "" {
		return Note{Code: "fault.no-patient"}
	}
	return CodeFault(code)
}

// siteFault says why a text cannot be a site's code.
func siteFault(code string) Note {
	if strings.Contains(code, "/") {
		return Note{Code: "fault.site", Values: texts.Values{"Code": code}}
	}
	return Note{}
}

// within is the fault of a value that is known, not 0, and not within limits.
func within(code string, v, least, most float64) Note {
	if v == 0 || v >= least && v <= most {
		return Note{}
	}
	return outside(code, v, least, most)
}

// faults returns those of list that are some as an error.
func faults(list []Fault) error {
	var out []Fault
	for _, f := range list {
		if !f.Why.IsZero() {
			out = append(out, f)
		}
	}
	if out == nil {
		return nil
	}
	return &FaultsError{out}
}
