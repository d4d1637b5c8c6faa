package account

import (
	"fmt"
	"math"
	"strings"
	"time"

	"linerwatch/app/findings"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

func (w *writer) head() {
	w.add(heading{1, say("account.title", "Study", w.Study)})
	whose := say("account.whose", "Rule", study.RuleWords(w.Whose))
	w.add(paragraph(say("account.head", "Date", w.Date.Format(time.DateOnly), "Program", w.Program) + " " + whose))
	if w.Demo {
		w.text("account.demo")
	}
	if !w.Altered.IsZero() {
		w.add(paragraph(study.NoteWords(w.Altered)))
	}
	w.add(paragraph(report.Caution))
}

// flow shows the flow as a diagram and as a table, which can be heard.
func (w *writer) flow() {
	w.title("account.flow")
	w.draw("flow")
	var rows [][]string
	for _, f := range []findings.Flow{w.HipFlow, w.FilmFlow} {
		for _, s := range f {
			rows = append(rows, []string{say(s.Key), count(s.N)})
			for _, o := range s.Out {
				rows = append(rows, []string{say("account.out", "Why", study.NoteWords(o.Why)), say("account.less", "N", float64(o.N))})
			}
		}
	}
	w.table("account.flow.table", []column{{say("account.stage"), 5, false}, {say("account.n"), 1, true}}, rows)
}

func (w *writer) described() {
	w.title("account.described")
	d := w.Described
	rows := [][]string{{say("account.hips"), count(d.Hips), ""}, {say("account.patients"), count(d.Patients), ""}}
	if d.NoPatient > 0 {
		rows[1][2] = say("account.no-patient", "N", float64(d.NoPatient))
	}
	for _, p := range d.Parts {
		what := none
		var counts []string
		for _, c := range p.Counts {
			counts = append(counts, c.Words+" "+of(c.N, p.Known))
		}
		switch {
		case p.Number != nil:
			what = say("account.spread", "Median", short(p.Number.Median), "Low", short(p.Number.Low), "High", short(p.Number.High))
		case counts != nil:
			what = strings.Join(counts, "; ")
		}
		rows = append(rows, []string{say(p.Key), count(p.Known), what})
	}
	w.table("account.described.table", []column{{say("account.what"), 2.2, false}, {say("account.known"), 1, true}, {say("account.values"), 4, false}}, rows)
}

func short(v float64) string { return strings.TrimSuffix(number(v, 1), ".0") }

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
				sd = number(v.SD[i], 3)
			}
			rows = append(rows, []string{visitWords(v), groupWords(q.Of), count(v.N[i]), value(q), sd, interval(q)})
		}
	}
	w.table("account.visits.table", []column{{say("account.visit"), 2, false}, {say("account.group"), 2, false}, {say("account.hips"), 1, true},
		{say("account.mean-mm"), 1.2, true}, {say("account.sd-mm"), 1.2, true}, {say("account.interval-mm"), 2, true}}, rows)
	w.draw("hips")
}

func visitWords(v findings.Visit) string {
	if v.Years < 1 {
		return say("account.visit.weeks", "Weeks", math.Round(v.Years*365.25/7))
	}
	return say("account.visit.years", "Years", v.Years)
}

// rates shows the mixed model and the comparison by each hip's own line.
func (w *writer) rates() {
	w.title("account.rates")
	c := w.Cohort
	if !c.WhyMixed.IsZero() {
		w.text("account.no-model", "Why", study.NoteWords(c.WhyMixed))
	}
	if rows := quantityRows(c.Mixed, func(q study.Quantity) bool { return !strings.HasPrefix(q.Model, "shrunken") }); rows != nil {
		w.table("account.rates.model", quantityColumns(), rows)
	}
	if !c.WhyOwn.IsZero() {
		w.text("account.no-groups", "Why", study.NoteWords(c.WhyOwn))
	}
	if rows := quantityRows(c.Own, func(q study.Quantity) bool { return q.Exists() }); rows != nil {
		w.table("account.rates.own", quantityColumns(), rows)
	}
	w.draw("rates")
}

func quantityColumns() []column {
	return []column{{say("account.number"), 3.2, false}, {say("account.of"), 1.4, false}, {say("account.value"), 1.1, true},
		{say("account.interval"), 1.9, true}, {say("account.p"), 0.9, true}, {say("account.unit"), 0.9, false}, {say("account.by"), 1.5, false}}
}

// quantityRows are those of quantities as the commands tell them; those that could not be
// had say why.
func quantityRows(list []study.Quantity, take func(study.Quantity) bool) (rows [][]string) {
	for _, q := range list {
		if !take(q) {
			continue
		}
		name := q.Name
		if !q.Exists() && !q.Note.IsZero() {
			name += " – " + study.NoteWords(q.Note)
		}
		v := value(q)
		if q.Counts() {
			v = fmt.Sprintf("%.0f", q.Value)
		}
		rows = append(rows, []string{name, q.Of, v, interval(q), probability(q), q.Unit, string(q.By)})
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
			share, i = of(a.N, a.Hips), percents(a.Share)
		}
		rows = append(rows, []string{groupWords(a.Group), count(a.Hips), share, i, of(a.Sure, a.Interval)})
	}
	w.table("account.above.table", []column{{say("account.group"), 2, false}, {say("account.with-rate"), 1.2, true}, {say("account.above.n"), 1.5, true},
		{say("account.interval"), 1.8, true}, {say("account.above.sure"), 2, true}}, rows)
}

func (w *writer) readers() {
	w.title("account.readers")
	r := w.Readers
	if !r.Why.IsZero() {
		w.add(paragraph(sentence(study.NoteWords(r.Why))))
		return
	}
	w.text("account.readers.text", "Readers", float64(len(r.Codes)), "Targets", float64(r.Targets))
	w.table("account.readers.table", quantityColumns(), quantityRows(r.Told, func(study.Quantity) bool { return true }))
	if len(r.Pairs) > 0 {
		w.draw("agreement")
	}
}

func (w *writer) liners() {
	w.title("account.liners")
	l := w.Liners
	if !l.Why.IsZero() {
		w.add(paragraph(sentence(study.NoteWords(l.Why))))
		return
	}
	w.text("account.liners.text", "N", float64(l.N), "Left", float64(l.Left))
	w.table("account.liners.table", quantityColumns(), quantityRows(l.Told, func(study.Quantity) bool { return true }))
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
		rows = append(rows, []string{say(r.key), count(r.n)})
	}
	w.table("account.hand.table", []column{{say("account.what"), 5, false}, {say("account.n"), 1, true}}, rows)
}

// sentence writes a capital letter and a full stop.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
