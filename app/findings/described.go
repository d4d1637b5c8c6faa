package findings

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/app/study"
)

// Described is who and what is in a study, as far as it is known.
type Described struct {
	Hips, Patients, NoPatient int // NoPatient: hips of which no patient is known
	Parts                     []Part
	patients                  map[string]bool
	words                     map[string]map[string]int
	numbers                   map[string][]float64
}

// Part is one thing that is known of hips: how many have each of its values, or the spread
// of a number.
type Part struct {
	Key    string // of its words
	Counts []Counted
	Number *Spread
	Known  int // hips of which it is known
}

// Counted is a value and how many have it.
type Counted struct {
	Words string
	N     int
}

// Spread is the middle and the ends of a number.
type Spread struct{ Median, Low, High float64 }

func (d *Described) add(r study.Record, say study.Say) {
	h, p := r.Hip, r.Patient
	if d.patients == nil {
		d.patients, d.words, d.numbers = map[string]bool{}, map[string]map[string]int{}, map[string][]float64{}
	}
	d.Hips++
	if h.Patient == "" {
		d.NoPatient++
	} else {
		d.patients[h.PatientID()] = true
	}
	m := h.Implant
	d.word("described.sex", study.ChoiceIn(say, "sex", p.Sex))
	d.number("detail.age", h.Age)
	if p.HeightCM > 0 && p.WeightKG > 0 {
		d.number("described.bmi", p.WeightKG/(p.HeightCM*p.HeightCM/1e4))
	}
	d.number("detail.dose", m.DoseKGy)
	d.word("detail.side", sideWords(say, h))
	d.word("detail.polyethylene", study.ChoiceIn(say, "polyethylene", m.PE))
	d.word("detail.material", study.ChoiceIn(say, "material", m.HeadMaterial))
	d.word("detail.fixation", study.ChoiceIn(say, "fixation", m.Fixation))
	d.number("detail.head", m.HeadMM)
	d.number("detail.liner", m.LinerMM)
	d.number("detail.shell", m.ShellMM)
	if !h.Surgery.IsZero() {
		d.number("described.surgery", float64(h.Surgery.Year()))
	}
}

func sideWords(say study.Say, h study.Hip) string {
	if h.Side == study.SideUnknown {
		return ""
	}
	return say("reader.side", study.Values{"Side": h.Side.String()})
}

func (d *Described) word(key, word string) {
	if d.words[key] == nil {
		d.words[key] = map[string]int{}
	}
	if word != "" {
		d.words[key][word]++
	}
}

func (d *Described) number(key string, v float64) {
	if v != 0 {
		d.numbers[key] = append(d.numbers[key], v)
	}
}

// done lists the parts.
func (d Described) done() Described {
	d.Patients, d.Parts = len(d.patients), nil
	for _, key := range []string{"described.sex", "detail.side", "detail.polyethylene", "detail.material", "detail.fixation"} {
		p := Part{Key: key}
		for word, n := range d.words[key] {
			p.Counts = append(p.Counts, Counted{word, n})
			p.Known += n
		}
		slices.SortFunc(p.Counts, func(a, b Counted) int { return cmp.Or(b.N-a.N, cmp.Compare(a.Words, b.Words)) })
		d.Parts = append(d.Parts, p)
	}
	for _, key := range []string{"detail.age", "described.bmi", "described.surgery", "detail.head", "detail.liner", "detail.shell", "detail.dose"} {
		p := Part{Key: key, Known: len(d.numbers[key])}
		if list := slices.Sorted(slices.Values(d.numbers[key])); len(list) > 0 {
			p.Number = &Spread{median(list), list[0], list[len(list)-1]}
		}
		d.Parts = append(d.Parts, p)
	}
	return d
}

// median is that of a sorted list.
func median(list []float64) float64 {
	n := len(list)
	if n == 0 {
		return math.NaN()
	}
	return (list[(n-1)/2] + list[n/2]) / 2
}
