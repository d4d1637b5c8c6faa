package report

import (
	"fmt"
	"io"
	"strconv"

	"linerwatch/app/study"
)

// Known is a hip whose truth is known because its films were rendered.
type Known struct {
	Trend       study.Trend
	Liner       string  // in words
	Rate        float64 // built in, mm/year
	BeddingIn   float64 // built in, counted from the baseline film, mm
	Penetration float64 // true superior penetration on the last film measured, mm
	Inside      bool    // whether the rate's interval holds Rate
}

type knownJSON struct {
	Hip             string   `json:"hip"`
	Patient         string   `json:"patient"`
	Side            string   `json:"side"`
	Surgery         string   `json:"surgery_date"`
	HeadMM          num      `json:"head_mm"`
	LinerMM         num      `json:"liner_mm"`
	PE              string   `json:"pe"`
	Bearing         string   `json:"bearing"`
	Measured        int      `json:"films_measured"`
	Films           int      `json:"films"`
	Years           num      `json:"years"`
	Penetration     num      `json:"penetration_mm"`
	SEPenetration   num      `json:"se_penetration_mm"`
	TruePenetration num      `json:"true_penetration_mm"`
	Fit             *fitJSON `json:"fit"`
	TrueBeddingIn   num      `json:"true_bedding_in_mm"`
	TrueRate        num      `json:"true_rate_mm_per_year"`
	Inside          bool     `json:"true_rate_inside"`
}

func knownOf(k Known) knownJSON {
	out := knownJSON{
		Hip: k.Trend.Hip.ID, Patient: k.Trend.Hip.Patient, Side: k.Trend.Hip.Side.String(), Surgery: day(k.Trend.Hip.Surgery), HeadMM: num(k.Trend.Hip.Implant.HeadMM),
		LinerMM: num(k.Trend.Hip.Implant.LinerMM), PE: k.Trend.Hip.Implant.PE, Bearing: k.Liner, Measured: len(k.Trend.Penetration), Films: len(k.Trend.Films),
		Years: none, Penetration: none, SEPenetration: none, TruePenetration: none,
		Fit: fitOf(k.Trend.Fit), TrueBeddingIn: none, TrueRate: num(k.Rate), Inside: k.Inside,
	}
	if out.Fit != nil && out.Fit.BeddingIn.exists() {
		out.TrueBeddingIn = num(k.BeddingIn)
	}
	if n := len(k.Trend.Penetration); n > 0 {
		last := k.Trend.Penetration[n-1]
		se, _ := last.SE()
		out.Years, out.Penetration, out.SEPenetration = num(last.Years), num(last.Superior), num(se)
		out.TruePenetration = num(k.Penetration)
	}
	return out
}

// KnownHips writes the results of hips with known truth next to that truth. The CSV is a
// table of hips, too, as study import takes it.
func KnownHips(w io.Writer, format Format, hips []Known) error {
	switch format {
	case JSON:
		out := []knownJSON{}
		for _, k := range hips {
			out = append(out, knownOf(k))
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{append([]string{"hip", "patient", "side", "surgery_date", "head_mm", "liner_mm", "pe", "bearing", "films_measured", "films", "years", "penetration_mm",
			"se_penetration_mm", "true_penetration_mm", "true_bedding_in_mm", "true_rate_mm_per_year", "true_rate_inside"}, fitColumns...)}
		for _, k := range hips {
			j := knownOf(k)
			row := []string{j.Hip, j.Patient, j.Side, j.Surgery, j.HeadMM.cell(), j.LinerMM.cell(), j.PE, j.Bearing, strconv.Itoa(j.Measured), strconv.Itoa(j.Films), j.Years.cell(), j.Penetration.cell(),
				j.SEPenetration.cell(), j.TruePenetration.cell(), j.TrueBeddingIn.cell(), j.TrueRate.cell(), strconv.FormatBool(j.Inside)}
			rows = append(rows, append(row, fitCells(j.Fit)...))
		}
		return writeCSV(w, rows)
	}
	if err := knownGrid(hips).write(w); err != nil {
		return err
	}
	return writeLines(w, plusMinus)
}

func knownGrid(hips []Known) *grid {
	g := newGrid("<hip", "<liner", "films", "years", "penetration mm", "true", "<bedding-in mm (95 %)", "true", "<rate mm/year (95 %)", "true", "<true rate inside")
	for _, k := range hips {
		j := knownOf(k)
		moved, truth, bedding, rate, inside := "-", "-", "-", "-", "no rate"
		if j.Penetration.exists() {
			c := column{Decimals(float64(j.SEPenetration))}
			moved, truth = c.withSE(float64(j.Penetration), float64(j.SEPenetration)), c.value(k.Penetration)
		}
		if f := k.Trend.Fit; f != nil {
			rate = spread(f.Rate, f.Lo95, f.Hi95, f.HasInterval)
			if f.HasBedding {
				bedding = spread(f.BeddingIn, f.BeddingLo95, f.BeddingHi95, f.HasInterval)
			}
			inside = map[bool]string{true: "yes", false: "no"}[k.Inside]
		}
		g.add(j.Hip, k.Liner, fmt.Sprintf("%d/%d", j.Measured, j.Films), column{1}.value(float64(j.Years)),
			moved, truth, bedding, column{3}.value(float64(j.TrueBeddingIn)), rate, column{3}.value(k.Rate), inside)
	}
	return g
}

// Penetrations writes one CSV row per measured film of several hips, with the
// columns that the command fit reads.
func Penetrations(w io.Writer, trends []study.Trend) error {
	rows := [][]string{{"hip", "film", "date", "years", "penetration_mm", "se_mm", "se_baseline_mm", "se_scale", "medial_mm", "se_medial_mm", "in_line"}}
	for _, t := range trends {
		base, _ := t.BaselineSE()
		for _, p := range t.Penetration {
			sup, med := p.SE()
			rows = append(rows, []string{t.Hip.ID, p.Film.Name(), day(p.Film.Date()), num(p.Years).cell(),
				num(p.Superior).cell(), num(sup).cell(), num(base).cell(), num(t.ScaleSE()).cell(), num(p.Medial).cell(), num(med).cell(), strconv.FormatBool(p.InLine)})
		}
	}
	return writeCSV(w, rows)
}
