package study

import (
	"math"
	"slices"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// AgreeRow is one reading of a target by a reader.
type AgreeRow struct {
	Target, Reader string
	Value          float64
}

// Agreement judges how far readers agree: for every pair of readers bias and
// limits of agreement and Lin's concordance on the means of their readings, the
// repeatability of every reader who read targets twice, the six intraclass
// correlations on each reader's first reading where every reader read every
// target, and the components of a crossed study where all were read equally
// often. unit is that of the readings.
func Agreement(rows []AgreeRow, unit string) ([]Quantity, error) {
	a := arrange(rows)
	if len(a.targets) < 3 {
		return nil, NewError("agreement.few-targets", texts.Values{"N": float64(len(a.targets))})
	}
	var out []Quantity
	for _, r := range a.readers {
		out = append(out, a.repeat(r, unit)...)
	}
	for i, r := range a.readers {
		for _, s := range a.readers[i+1:] {
			out = append(out, a.pair(r, s, unit)...)
		}
	}
	if len(a.readers) > 1 {
		out = append(out, a.intraclass(unit)...)
		out = append(out, a.crossed(unit)...)
	}
	if len(out) == 0 {
		return nil, NewError("agreement.nothing", nil)
	}
	return out, nil
}

// readings holds a table by target and reader.
type readings struct {
	targets, readers []string
	of               map[[2]string][]float64
}

func arrange(rows []AgreeRow) readings {
	a := readings{of: map[[2]string][]float64{}}
	seen := map[string]bool{}
	for _, r := range rows {
		if !seen["t"+r.Target] {
			a.targets = append(a.targets, r.Target)
		}
		if !seen["r"+r.Reader] {
			a.readers = append(a.readers, r.Reader)
		}
		seen["t"+r.Target], seen["r"+r.Reader] = true, true
		k := [2]string{r.Target, r.Reader}
		a.of[k] = append(a.of[k], r.Value)
	}
	slices.Sort(a.readers)
	return a
}

func (a readings) repeat(reader, unit string) []Quantity {
	var v [][]float64
	twice := false
	for _, t := range a.targets {
		if x := a.of[[2]string{t, reader}]; len(x) > 0 {
			v = append(v, x)
			twice = twice || len(x) > 1
		}
	}
	if !twice {
		return nil
	}
	const name = "readings repeated by one reader"
	r, err := wearfit.Repeat(v)
	if err != nil {
		return []Quantity{missing(reader, name, "within-target SD", unit, err)}
	}
	sd := Quantity{Of: reader, Model: name, Name: "within-target SD", Unit: unit, Value: r.SD, DF: float64(r.DF)}
	out := []Quantity{
		sd.within(r.Interval(level)),
		{Of: reader, Model: name, Name: "repeatability coefficient", Unit: unit, Value: r.Coefficient},
	}
	return append(out, double(reader, unit, v)...)
}

// double is the precision of a change that is truly zero, where one reader read
// every target twice.
func double(reader, unit string, v [][]float64) []Quantity {
	var first, second []float64
	for _, x := range v {
		if len(x) != 2 {
			return nil
		}
		first, second = append(first, x[0]), append(second, x[1])
	}
	d, err := wearfit.Precision(first, second)
	if err != nil {
		return nil
	}
	const name = "double examination"
	return []Quantity{
		{Of: reader, Model: name, Name: "mean of first less second", Unit: unit, Value: d.Mean},
		{Of: reader, Model: name, Name: "SD about zero", Unit: unit, Value: d.SD},
		{Of: reader, Model: name, Name: "95 % of differences within", Unit: unit, Value: d.Student, Note: Note{Code: "agreement.student"}},
	}
}

// pair compares two readers on the targets that both read.
func (a readings) pair(r, s, unit string) []Quantity {
	of := r + " less " + s
	const name = "Bland-Altman"
	var x, y [][]float64
	var mx, my []float64
	repeats := false
	for _, t := range a.targets {
		u, v := a.of[[2]string{t, r}], a.of[[2]string{t, s}]
		if len(u) == 0 || len(v) == 0 {
			continue
		}
		x, y = append(x, u), append(y, v)
		mx, my = append(mx, mean(u)), append(my, mean(v))
		repeats = repeats || len(u) > 1 || len(v) > 1
	}
	b, err := wearfit.Agreement(mx, my)
	if err != nil {
		return []Quantity{missing(of, name, "bias", unit, err)}
	}
	out := []Quantity{
		estimated(of, name, "bias", unit, b.Bias),
		estimated(of, name, "slope of the difference on the mean", "", b.Proportional),
		counted(of, name, "targets", b.N),
	}
	if left := len(a.targets) - b.N; left > 0 {
		out[2].Note = Note{Code: "agreement.not-both", Values: texts.Values{"N": float64(left)}}
	}
	if repeats {
		if b, err = wearfit.AgreementRepeated(x, y); err != nil {
			return append(out, missing(of, name, "limits of agreement", unit, err))
		}
	}
	lower, upper := b.LimitsExact(level)
	for _, q := range []Quantity{
		Quantity{Of: of, Model: name, Name: "lower limit of agreement", Unit: unit, Value: b.Lower}.within(lower),
		Quantity{Of: of, Model: name, Name: "upper limit of agreement", Unit: unit, Value: b.Upper}.within(upper),
	} {
		if repeats {
			q.Note = Note{Code: "agreement.one-each"}
		}
		out = append(out, q)
	}
	c, err := wearfit.Concord(mx, my)
	if err != nil {
		return append(out, missing(of, "Lin", "concordance", "", err))
	}
	return append(out, Quantity{Of: of, Model: "Lin", Name: "concordance", Value: c.Value}.within(c.Interval(level)))
}

func (a readings) intraclass(unit string) []Quantity {
	const name = "intraclass correlation"
	var x [][]float64
	for _, t := range a.targets {
		var row []float64
		for _, r := range a.readers {
			if v := a.of[[2]string{t, r}]; len(v) > 0 {
				row = append(row, v[0])
			}
		}
		x = append(x, row)
		if len(row) != len(a.readers) {
			return []Quantity{missing("", name, "ICC", "", NewError("agreement.incomplete", texts.Values{"Target": t}))}
		}
	}
	r, err := wearfit.Intraclass(x, level)
	if err != nil {
		return []Quantity{missing("", name, "ICC", "", err)}
	}
	var out []Quantity
	for _, f := range r.Forms {
		q := Quantity{Model: name, Name: f.Form, Value: f.Value}
		out = append(out, q.within(wearfit.Interval{Lo: f.Lo, Hi: f.Hi}))
	}
	return append(out,
		Quantity{Model: name, Name: "SEM, agreement", Unit: unit, Value: r.SEMAgreement},
		Quantity{Model: name, Name: "smallest detectable change, agreement", Unit: unit, Value: r.SDCAgreement},
		Quantity{Model: name, Name: "SEM, consistency", Unit: unit, Value: r.SEMConsistency},
		Quantity{Model: name, Name: "smallest detectable change, consistency", Unit: unit, Value: r.SDCConsistency})
}

// crossed is empty where nobody read twice.
func (a readings) crossed(unit string) []Quantity {
	var x [][][]float64
	most := 0
	for _, t := range a.targets {
		var row [][]float64
		for _, r := range a.readers {
			v := a.of[[2]string{t, r}]
			row, most = append(row, v), max(most, len(v))
		}
		x = append(x, row)
	}
	if most < 2 {
		return nil
	}
	const name = "crossed components"
	c, err := wearfit.Crossed(x)
	if err != nil {
		return []Quantity{missing("", name, "repeatability SD", unit, err)}
	}
	sd := func(what string, variance float64) Quantity {
		return Quantity{Model: name, Name: "SD of " + what, Unit: unit, Value: math.Sqrt(variance)}
	}
	return []Quantity{
		sd("targets", c.Target), sd("readers", c.Reader), sd("targets by readers", c.Interaction),
		{Model: name, Name: "repeatability SD", Unit: unit, Value: c.RepeatabilitySD},
		{Model: name, Name: "reproducibility SD", Unit: unit, Value: c.ReproducibilitySD},
		{Model: name, Name: "repeatability limit", Unit: unit, Value: c.RepeatabilityLimit},
		{Model: name, Name: "reproducibility limit", Unit: unit, Value: c.ReproducibilityLimit},
	}
}

func mean(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x / float64(len(v))
	}
	return s
}
