package account

import (
	"slices"
	"strings"

	"linerwatch/app/findings"
	"linerwatch/app/study"
)

// methods says how the numbers were made, with the parameters of this study.
func (w *writer) methods() {
	w.title("account.methods")
	var starts []string
	for _, s := range slices.Sorted(slices.Values(w.starts())) {
		starts = append(starts, w.short(s))
	}
	start := strings.Join(starts, ", ")
	if start == "" {
		start = w.short(study.DefaultStartYears)
	}
	text := []string{w.say("methods.measured", "Program", w.Program, "Hips", float64(w.HipFlow[0].N), "Films", float64(w.FilmFlow[2].N)),
		w.say("methods.penetration"), w.say("methods.line", "Start", start), w.say("methods.visits")}
	if w.Hand.Baselines > 0 {
		text = append(text, w.say("methods.baselines", "N", float64(w.Hand.Baselines)))
	}
	if w.Hand.BeamOff > 0 {
		text = append(text, w.say("methods.beam-off", "N", float64(w.Hand.BeamOff)))
	}
	if w.Cohort.WhyMixed.IsZero() {
		text = append(text, w.say("methods.mixed"))
	}
	if len(w.Groups) > 1 {
		text = append(text, w.say("methods.groups", "Groups", w.groupList(), "By", w.byWords()))
	}
	if repeats, listed := w.repeats(); listed {
		text = append(text, w.say("methods.reading", "Repeats", float64(repeats)))
	}
	if w.Readers.Why.IsZero() {
		text = append(text, w.say("methods.readers", "Readers", float64(len(w.Readers.Readers))))
	}
	if w.Liners.Why.IsZero() {
		text = append(text, w.say("methods.liners"))
	}
	text = append(text, w.say("methods.intervals"))
	w.add(paragraph(strings.Join(text, " ")))
	var made []string
	for _, by := range w.conventions() {
		made = append(made, string(by)+": "+w.say("convention."+string(by))+".")
	}
	if made != nil {
		w.add(heading{3, w.say("account.made")})
		w.add(list(made))
	}
}

// repeats counts the places of reading lists that are read a second time, where there are lists.
func (w *writer) repeats() (n int, listed bool) {
	for _, l := range w.Reading.Lists {
		n, listed = n+l.Repeats, listed || l.Kind == study.ReadList
	}
	return n, listed
}

// starts are the years at which the steady state of hips begins.
func (w *writer) starts() (out []float64) {
	for _, h := range w.Hips {
		if s := h.Start(); !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func (w *writer) groupList() string {
	var out []string
	for _, g := range w.Groups {
		out = append(out, w.groupWords(g))
	}
	return strings.Join(out, "; ")
}

func (w *writer) byWords() string {
	switch w.By {
	case findings.ByPE:
		return w.say("detail.polyethylene")
	case findings.ByMaterial:
		return w.say("detail.material")
	case findings.ByHead:
		return w.say("detail.head")
	}
	return w.say("account.by-group")
}

// conventions are those of the numbers shown, in order of first use.
func (w *writer) conventions() (out []study.Convention) {
	add := func(list []study.Quantity) {
		for _, q := range list {
			if q.By != "" && !strings.HasPrefix(q.Model, "shrunken") && !slices.Contains(out, q.By) {
				out = append(out, q.By)
			}
		}
	}
	if slices.ContainsFunc(w.Hips, func(h findings.Hip) bool { return h.Fit != nil }) {
		out = append(out, study.BySteady)
	}
	add(w.Cohort.Mixed)
	add(w.Cohort.Own)
	add(w.Readers.Quantities)
	add(w.Liners.Told)
	return out
}

// sources lists the published sources of what is named without a convention.
func (w *writer) sources() {
	w.title("account.sources")
	out := []string{
		"Clopper CJ, Pearson ES. The use of confidence or fiducial limits illustrated in the case of the binomial. Biometrika 1934;26:404–413.",
		"Dumbleton JH, Manley MT, Edidin AA. A literature review of the association between wear rate and osteolysis in total hip arthroplasty. J Arthroplasty 2002;17:649–661.",
		"Knapp G, Hartung J. Improved tests for a random effects meta-regression with a single covariate. Stat Med 2003;22:2693–2710.",
		"Paule RC, Mandel J. Consensus values and weighting factors. J Res Natl Bur Stand 1982;87:377–385.",
	}
	if w.Cohort.WhyMixed.IsZero() {
		out = append(out, "Laird NM, Ware JH. Random-effects models for longitudinal data. Biometrics 1982;38:963–974.",
			"Nobre JS, Singer JM. Residual analysis for linear mixed models. Biom J 2007;49:863–875.")
	}
	if w.Readers.Why.IsZero() {
		out = append(out, "Bland JM, Altman DG. Measuring agreement in method comparison studies. Stat Methods Med Res 1999;8:135–160.")
	}
	if w.Liners.Why.IsZero() {
		out = append(out, "Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat Assoc 1958;53:457–481.")
	}
	out = append(out, strobeSource, grrasSource)
	slices.Sort(out)
	w.add(list(out))
}
