package account

import (
	"fmt"
	"math"
	"strings"
	"time"

	"linerwatch/app/findings"
	"linerwatch/app/study"
)

func (w *writer) head() {
	w.add(heading{1, w.say("account.title", "Study", w.Study)})
	whose := w.say("account.whose", "Rule", study.RuleIn(w.voice.Say, w.Whose))
	w.add(paragraph(w.say("account.head", "Date", w.Date.Format(time.DateOnly), "Program", w.Program) + " " + whose))
	if w.Demo {
		w.text("account.demo")
	}
	if !w.Altered.IsZero() {
		w.add(paragraph(w.note(w.Altered)))
	}
	w.text("account.caution")
}

// flow shows the flow as a diagram and as a table, which can be heard.
func (w *writer) flow() {
	w.title("account.flow")
	w.draw("flow")
	var rows [][]string
	for _, f := range []findings.Flow{w.HipFlow, w.FilmFlow} {
		for _, s := range f {
			rows = append(rows, []string{w.say(s.Key), count(s.N)})
			for _, o := range s.Out {
				rows = append(rows, []string{w.say("account.out", "Why", w.note(o.Why)), w.say("account.less", "N", float64(o.N))})
			}
		}
	}
	w.table("account.flow.table", []column{{w.say("account.stage"), 5, false}, {w.say("account.n"), 1, true}}, rows)
}

func (w *writer) described() {
	w.title("account.described")
	d := w.Described
	rows := [][]string{{w.say("account.hips"), count(d.Hips), ""}, {w.say("account.patients"), count(d.Patients), ""}}
	if d.NoPatient > 0 {
		rows[1][2] = w.say("account.no-patient", "N", float64(d.NoPatient))
	}
	for _, p := range d.Parts {
		what := none
		var counts []string
		for _, c := range p.Counts {
			counts = append(counts, c.Words+" "+w.of(c.N, p.Known))
		}
		switch {
		case p.Number != nil:
			what = w.say("account.spread", "Median", w.short(p.Number.Median), "Low", w.short(p.Number.Low), "High", w.short(p.Number.High))
		case counts != nil:
			what = strings.Join(counts, "; ")
		}
		rows = append(rows, []string{w.say(p.Key), count(p.Known), what})
	}
	w.table("account.described.table", []column{{w.say("account.what"), 2.2, false}, {w.say("account.known"), 1, true}, {w.say("account.values"), 4, false}}, rows)
}

func (w *writer) short(v float64) string { return w.voice.Number(math.Round(10*v) / 10) }

func (w *writer) visits() {
	w.title("account.visits")
	if len(w.Visits) == 0 {
		w.text("account.no-visits")
		return
	}
	var rows [][]string
	for _, v := range w.Visits {
		for i, q := range v.Of {
			sd := none
			if v.N[i] > 1 {
				sd = w.number(v.SD[i], 3)
			}
			rows = append(rows, []string{w.visitWords(v), w.groupWords(q.Of), count(v.N[i]), w.value(q), sd, w.interval(q)})
		}
	}
	w.table("account.visits.table", []column{{w.say("account.visit"), 2, false}, {w.say("account.group"), 2, false}, {w.say("account.hips"), 1, true},
		{w.say("account.mean-mm"), 1.2, true}, {w.say("account.sd-mm"), 1.2, true}, {w.say("account.interval-mm"), 2, true}}, rows)
	w.draw("hips")
}

func (w *writer) visitWords(v findings.Visit) string {
	if v.Years < 1 {
		return w.say("account.visit.weeks", "Weeks", math.Round(v.Years*365.25/7))
	}
	return w.say("account.visit.years", "Years", v.Years)
}

// rates shows the mixed model and the comparison by each hip's own line.
func (w *writer) rates() {
	w.title("account.rates")
	c := w.Cohort
	if !c.WhyMixed.IsZero() {
		w.text("account.no-model", "Why", w.note(c.WhyMixed))
	}
	if rows := w.quantityRows(c.Mixed, func(q study.Quantity) bool { return !strings.HasPrefix(q.Model, "shrunken") }); rows != nil {
		w.table("account.rates.model", w.quantityColumns(), rows)
	}
	if !c.WhyOwn.IsZero() {
		w.text("account.no-groups", "Why", w.note(c.WhyOwn))
	}
	if rows := w.quantityRows(c.Own, func(q study.Quantity) bool { return q.Exists() }); rows != nil {
		w.table("account.rates.own", w.quantityColumns(), rows)
	}
	w.draw("rates")
}

func (w *writer) quantityColumns() []column {
	return []column{{w.say("account.number"), 3.2, false}, {w.say("account.of"), 1.4, false}, {w.say("account.value"), 1.1, true},
		{w.say("account.interval"), 1.9, true}, {w.say("account.p"), 0.9, true}, {w.say("account.unit"), 0.9, false}, {w.say("account.by"), 1.5, false}}
}

// quantityRows are those of quantities as the commands tell them; those that could not be
// had say why.
func (w *writer) quantityRows(list []study.Quantity, take func(study.Quantity) bool) (rows [][]string) {
	for _, q := range list {
		if !take(q) {
			continue
		}
		name := w.name(q)
		if !q.Exists() && !q.Note.IsZero() {
			name += " – " + w.note(q.Note)
		}
		v := w.value(q)
		if q.Counts() {
			v = fmt.Sprintf("%.0f", q.Value)
		}
		rows = append(rows, []string{name, w.whose(q), v, w.interval(q), w.probability(q), w.unit(q), string(q.By)})
	}
	return rows
}

func (w *writer) above() {
	w.title("account.above")
	w.text("account.above.text", "Rate", findings.MarkRate)
	var rows [][]string
	for _, a := range w.Above {
		share, i := none, none
		if a.Hips > 0 {
			share, i = w.of(a.N, a.Hips), w.percents(a.Share)
		}
		rows = append(rows, []string{w.groupWords(a.Group), count(a.Hips), share, i, w.of(a.Sure, a.Interval)})
	}
	w.table("account.above.table", []column{{w.say("account.group"), 2, false}, {w.say("account.with-rate"), 1.2, true}, {w.say("account.above.n"), 1.5, true},
		{w.say("account.interval"), 1.8, true}, {w.say("account.above.sure"), 2, true}}, rows)
}

func (w *writer) readers() {
	w.title("account.readers")
	r := w.Readers
	if !r.Why.IsZero() {
		w.add(paragraph(sentence(w.note(r.Why))))
		return
	}
	w.text("account.readers.text", "Readers", float64(len(r.Readers)), "Targets", float64(r.Films))
	w.table("account.readers.table", w.quantityColumns(), w.quantityRows(r.Quantities, func(study.Quantity) bool { return true }))
	if len(r.Passed) > 0 {
		w.text("account.readers.passed", "What", study.PassedIn(w.voice.Say, r.Passed))
	}
	if len(r.Pairs) > 0 {
		w.draw("agreement")
	}
}

func (w *writer) liners() {
	w.title("account.liners")
	l := w.Liners
	if !l.Why.IsZero() {
		w.add(paragraph(sentence(w.note(l.Why))))
		return
	}
	w.text("account.liners.text", "N", float64(l.N), "Left", float64(l.Left))
	w.table("account.liners.table", w.quantityColumns(), w.quantityRows(l.Told, func(study.Quantity) bool { return true }))
	w.draw("survival")
}

func (w *writer) checks() {
	if len(w.Cohort.Checks.Films) == 0 {
		return
	}
	w.title("account.checks")
	w.draw("residuals")
}

func (w *writer) hand() {
	w.title("account.hand")
	h := w.Hand
	var rows [][]string
	for _, r := range []struct {
		key string
		n   int
	}{
		{"hand.readings", h.Readings}, {"hand.replaced", h.Replaced}, {"hand.withdrawn", h.Withdrawn},
		{"hand.left-out", h.LeftOut}, {"hand.back", h.Back}, {"hand.placed", h.Placed}, {"hand.doubtful", h.Doubtful},
		{"hand.lines", h.Lines}, {"hand.rims", h.Rims}, {"hand.baselines", h.Baselines}, {"hand.starts", h.Starts},
		{"hand.beam-off", h.BeamOff}, {"hand.drafts", h.Drafts},
	} {
		rows = append(rows, []string{w.say(r.key), count(r.n)})
	}
	w.table("account.hand.table", []column{{w.say("account.what"), 5, false}, {w.say("account.n"), 1, true}}, rows)
}

// sentence writes a capital letter and a full stop.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return study.Capital(s) + "."
}
