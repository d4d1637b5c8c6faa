package study

import (
	"math"
	"slices"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// AgreeRow is one reading of a target by a reader. Of is what the target belongs
// to, such as the hip of a film; empty where each stands alone.
type AgreeRow struct {
	Target, Reader, Of string
	Value              float64
}

// Agreement judges how far readers agree: for every pair of readers bias and
// limits of agreement and Lin's concordance on the means of their readings, the
// repeatability of every reader who read targets twice, the six intraclass
// correlations on each reader's first reading where every reader read every
// target, and from all readings there are the components of their variance, with
// what follows from them. unit is that of the readings. Each number carries the
// convention that made it.
func Agreement(rows []AgreeRow, unit string) ([]Quantity, error) {
	a, err := arrange(rows)
	if err != nil {
		return nil, err
	}
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
		out = append(out, a.intraclass()...)
		out = append(out, a.components(unit)...)
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
	owner            map[string]string // of a target, where it belongs to something
}

func arrange(rows []AgreeRow) (readings, error) {
	a := readings{of: map[[2]string][]float64{}, owner: map[string]string{}}
	seen := map[string]bool{}
	for _, r := range rows {
		if !seen["t"+r.Target] {
			a.targets = append(a.targets, r.Target)
		}
		if !seen["r"+r.Reader] {
			a.readers = append(a.readers, r.Reader)
		}
		seen["t"+r.Target], seen["r"+r.Reader] = true, true
		if had, ok := a.owner[r.Target]; ok && had != r.Of {
			return a, NewError("agreement.two-owners", Values{"Target": r.Target, "One": had, "Other": r.Of})
		}
		a.owner[r.Target] = r.Of
		k := [2]string{r.Target, r.Reader}
		a.of[k] = append(a.of[k], r.Value)
	}
	slices.Sort(a.readers)
	return a, nil
}

// together says whether targets belong to something.
func (a readings) together() bool {
	for _, of := range a.owner {
		if of != "" {
			return true
		}
	}
	return false
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
	const name = RepeatedReadings
	r, err := wearfit.Repeat(v)
	if err != nil {
		return []Quantity{missing(reader, name, "within-target SD", unit, err)}
	}
	sd := Quantity{Of: reader, Model: name, Name: "within-target SD", Unit: unit, Value: r.SD, DF: float64(r.DF)}
	own := r.Interval(level)
	most := Quantity{Of: reader, Model: name, Name: "repeatability coefficient", Unit: unit, Value: r.Coefficient}
	if r.SD > 0 {
		times := r.Coefficient / r.SD
		most = most.within(wearfit.Interval{Lo: times * own.Lo, Hi: times * own.Hi}).made(ByChiSquare).noted("agreement.coefficient")
	} else {
		most.Note = Note{Code: "agreement.equal-repeats"}
	}
	out := []Quantity{sd.within(own).made(ByChiSquare), most}
	return append(out, double(reader, unit, v)...)
}

// Models of quantities of one reader, as Quantity.Model has them.
const (
	RepeatedReadings   = "readings repeated by one reader"
	DoubleExaminations = "double examinations"
)

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

// both are the targets that two readers read.
func (a readings) both(r, s string) []string {
	var out []string
	for _, t := range a.targets {
		if len(a.of[[2]string{t, r}]) > 0 && len(a.of[[2]string{t, s}]) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// pair compares two readers on the targets that both read.
func (a readings) pair(r, s, unit string) []Quantity {
	of := r + " less " + s
	const name = "Bland-Altman"
	var x, y [][]float64
	var mx, my []float64
	var owners []string
	repeats, together := false, a.together()
	for _, t := range a.both(r, s) {
		u, v := a.of[[2]string{t, r}], a.of[[2]string{t, s}]
		x, y = append(x, u), append(y, v)
		mx, my = append(mx, mean(u)), append(my, mean(v))
		if together {
			owners = append(owners, a.owner[t])
		}
		repeats = repeats || len(u) > 1 || len(v) > 1
	}
	b, err := wearfit.AgreementRepeated(x, y, owners)
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
	lower, upper := b.LimitsExact(level)
	how, one := ByNoncentral, ""
	if repeats || together {
		how, one = ByMOVER, "agreement.one-each"
	}
	out = append(out,
		Quantity{Of: of, Model: name, Name: "lower limit of agreement", Unit: unit, Value: b.Lower}.within(lower).made(how).noted(one),
		Quantity{Of: of, Model: name, Name: "upper limit of agreement", Unit: unit, Value: b.Upper}.within(upper).made(how).noted(one))
	c, err := wearfit.Concord(mx, my)
	if err != nil {
		return append(out, missing(of, "Lin", "concordance", "", err))
	}
	lin := Quantity{Of: of, Model: "Lin", Name: "concordance", Value: c.Value}
	if together {
		return append(out, lin.noted("agreement.not-independent"))
	}
	return append(out, lin.within(c.Interval(level)).made(ByFisher))
}

// forms tells which of McGraw and Wong's each form of Shrout and Fleiss is, in the
// order of wearfit.Reliability.
var forms = [6]string{
	"agreement.icc-1",
	"agreement.icc-a1",
	"agreement.icc-c1",
	"agreement.icc-k",
	"agreement.icc-ak",
	"agreement.icc-ck",
}

func (a readings) intraclass() []Quantity {
	const name = "intraclass correlation"
	var x [][]float64
	first := ""
	for _, t := range a.targets {
		var row []float64
		for _, r := range a.readers {
			if v := a.of[[2]string{t, r}]; len(v) > 0 {
				row = append(row, v[0])
				if len(v) > 1 {
					first = "agreement.first-readings"
				}
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
	for i, f := range r.Forms {
		out = append(out, coefficient(name, f, ByMcGrawWong, forms[i], first))
	}
	return out
}

func coefficient(model string, c wearfit.Coefficient, by Convention, codes ...string) Quantity {
	if c.Below {
		codes = append(codes, "agreement.below")
	}
	return Quantity{Model: model, Name: c.Form, Value: c.Value}.within(wearfit.Interval{Lo: c.Lo, Hi: c.Hi}).made(by).noted(codes...)
}

// components splits the variance of all readings, and tells what follows.
func (a readings) components(unit string) []Quantity {
	var x [][][]float64
	for _, t := range a.targets {
		var row [][]float64
		for _, r := range a.readers {
			row = append(row, a.of[[2]string{t, r}])
		}
		x = append(x, row)
	}
	const name = "variance components, REML"
	c, err := wearfit.Crossed(x)
	if err != nil {
		return []Quantity{missing("", name, "repeatability SD", unit, err)}
	}
	part := func(what string, variance float64) Quantity {
		q := Quantity{Model: name, Name: "SD of " + what, Unit: unit, Value: math.Sqrt(variance)}
		if variance == 0 {
			q.Note = Note{Code: "agreement.at-limit"}
		}
		return q
	}
	sd := func(what string, s wearfit.Spread, note string) Quantity {
		return Quantity{Model: name, Name: what, Unit: unit, Value: s.SD}.within(s.Interval(level)).made(ByLargeSample).noted(note)
	}
	limit := func(what string, s wearfit.Spread, note string) Quantity {
		return Quantity{Model: name, Name: what, Unit: unit, Value: s.Limit()}.within(s.LimitInterval(level)).made(ByLargeSample).noted(note)
	}
	same, what, between := c.RepeatabilitySD(), "agreement.one-reader", "agreement.readers"
	switch {
	case c.Alike:
		what = "agreement.repeats-equal"
	case !c.Separable:
		what = "agreement.repeats-not-apart"
	}
	every, own := c.ReproducibilitySD(), c.ConsistencySD()
	out := []Quantity{part("targets", c.Target), part("readers", c.Reader)}
	if c.Separable {
		out = append(out, part("targets by readers", c.Interaction))
		between = "agreement.readers-targets"
	}
	return append(out,
		sd("repeatability SD", same, what),
		sd("between-reader SD", c.BetweenSD(), between),
		sd("reproducibility SD", every, "agreement.any-reader"),
		sd("SEM, consistency", own, "agreement.without-means"),
		limit("repeatability limit", same, "agreement.coefficient"),
		limit("smallest detectable change, agreement", every, "agreement.reproducibility"),
		limit("smallest detectable change, consistency", own, "agreement.sem-limit"),
		coefficient(name, c.AgreementICC(level), ByLargeSample, "agreement.absolute"),
		coefficient(name, c.ConsistencyICC(level), ByLargeSample, "agreement.consistent"),
		counted("", name, "targets", c.Targets), counted("", name, "readers", c.Readers), counted("", name, "readings", c.Readings))
}

func mean(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x / float64(len(v))
	}
	return s
}
