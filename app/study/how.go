package study

import "linerwatch/assets/texts"

// How is the method by which a quantity was made, as a code.
type How string

// The methods. Their words and sources are texts "how.CODE".
const (
	KenwardRoger   How = "kenward-roger"   // standard error and degrees of freedom
	Satterthwaite  How = "satterthwaite"   // degrees of freedom
	ChiSquare      How = "chi-square"      // a likelihood ratio
	Mixture        How = "mixture"         // the same for a variance at its limit
	DrawnCohorts   How = "drawn-cohorts"   // the same by parametric bootstrap
	StudentT       How = "student-t"       // patients' films by a multivariate t distribution
	Integrated     How = "integrated"      // over the variances
	KnownVariances How = "known-variances" // as if those fitted were the true ones
)

// Words are those of a method; "" of none.
func (h How) Words() string {
	if h == "" {
		return ""
	}
	return texts.Say("how."+string(h), nil)
}

// by is the quantity made by a method.
func (q Quantity) by(h How) Quantity {
	q.How = h
	return q
}

// noted is the quantity with a further note.
func (q Quantity) noted(note string) Quantity {
	switch {
	case note == "":
		return q
	case q.Note != "":
		note = q.Note + "; " + note
	}
	q.Note = note
	return q
}
