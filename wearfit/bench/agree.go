package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"

	"linerwatch/wearfit"
)

// readingStudy is a design of a simulated study of readers.
type readingStudy struct {
	name                 string
	targets, readers     int
	sessions             []int // readings of a cell, one drawn for each
	between              float64
	reader, inter, error float64 // SD, mm
}

var readingStudies = []readingStudy{
	{"complete, once", 30, 2, []int{1}, 0.4, 0.04, 0, 0.08},
	{"complete, once", 30, 3, []int{1}, 0.4, 0.04, 0, 0.08},
	{"complete, once, readers alike", 30, 3, []int{1}, 0.4, 0, 0, 0.08},
	{"complete, twice", 20, 2, []int{2}, 0.4, 0.04, 0.03, 0.06},
	{"complete, twice", 20, 4, []int{2}, 0.4, 0.04, 0.03, 0.06},
	{"complete, twice, targets alike", 20, 3, []int{2}, 0.05, 0.04, 0.03, 0.06},
	{"a third missing, once", 40, 3, []int{0, 1, 1}, 0.4, 0.04, 0, 0.08},
	{"some missing, some twice", 40, 3, []int{0, 1, 1, 2}, 0.4, 0.04, 0.03, 0.06},
	{"half missing, some twice", 60, 6, []int{0, 0, 1, 2}, 0.4, 0.06, 0.03, 0.06},
	{"a tenth twice", 100, 3, []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 2}, 0.4, 0.04, 0.03, 0.06},
}

// readers writes how often the 95 % intervals of the components of simulated
// studies hold the truth.
func readers(w io.Writer, runs int, seed uint64) (bool, error) {
	if _, err := fmt.Fprintf(w, "coverage of the 95 %% intervals from readings, %d studies a line\n%-32s targets readers  same reader %%  any reader %%  consistency %%  between %%  ICC(A,1) %%  ICC(C,1) %%\n", runs, "design"); err != nil {
		return false, err
	}
	all := true
	r := rand.New(rand.NewPCG(seed, 9))
	for _, s := range readingStudies {
		var held [6]float64
		for range runs {
			h, err := s.run(r)
			if err != nil {
				return false, fmt.Errorf("%s: %w", s.name, err)
			}
			for i := range held {
				if h[i] {
					held[i] += 100 / float64(runs)
				}
			}
		}
		verdict := ""
		for _, p := range held {
			if p < 93 {
				verdict, all = "  below 93", false
			}
		}
		if _, err := fmt.Fprintf(w, "%-32s %7d %7d %14.2f %13.2f %14.2f %10.2f %11.2f %11.2f%s\n", s.name, s.targets, s.readers, held[0], held[1], held[2], held[3], held[4], held[5], verdict); err != nil {
			return false, err
		}
	}
	limits, err := limitsOf(w, runs, seed)
	return all && limits, err
}

// draw draws the readings of one study.
func (s readingStudy) draw(r *rand.Rand) [][][]float64 {
	own := make([]float64, s.readers)
	for j := range own {
		own[j] = s.reader * r.NormFloat64()
	}
	x := make([][][]float64, s.targets)
	for i := range x {
		x[i] = make([][]float64, s.readers)
		truth := s.between * r.NormFloat64()
		for j := range x[i] {
			of := truth + own[j] + s.inter*r.NormFloat64()
			for range s.sessions[r.IntN(len(s.sessions))] {
				x[i][j] = append(x[i][j], of+s.error*r.NormFloat64())
			}
		}
	}
	return x
}

// run draws one study and says which intervals hold the truth.
func (s readingStudy) run(r *rand.Rand) (held [6]bool, err error) {
	c, err := wearfit.Crossed(s.draw(r))
	if err != nil {
		return held, err
	}
	repeat, inter, reader := s.error*s.error, s.inter*s.inter, s.reader*s.reader
	target := s.between * s.between
	for i, q := range []struct {
		of    wearfit.Spread
		truth float64
	}{{c.RepeatabilitySD(), repeat}, {c.ReproducibilitySD(), repeat + inter + reader}, {c.ConsistencySD(), repeat + inter}, {c.BetweenSD(), inter + reader}} {
		held[i] = q.of.Interval(0.95).Contains(math.Sqrt(q.truth))
	}
	for i, q := range []struct {
		of    wearfit.Coefficient
		truth float64
	}{{c.AgreementICC(0.95), target / (target + repeat + inter + reader)}, {c.ConsistencyICC(0.95), target / (target + repeat + inter)}} {
		held[4+i] = q.of.Lo <= q.truth && q.truth <= q.of.Hi
	}
	return held, nil
}

// limitsOf writes how often the 95 % intervals of the upper limit of agreement hold
// it: of films each of its own hip, or of several films of a hip, read once or twice.
func limitsOf(w io.Writer, runs int, seed uint64) (bool, error) {
	if _, err := fmt.Fprintf(w, "\ncoverage of the 95 %% interval of a limit of agreement, %d studies a line\nhips  films a hip  readings  limit %%  bias %%\n", runs); err != nil {
		return false, err
	}
	const bias, ofHip, ofFilm, reading = 0.03, 0.06, 0.05, 0.06
	all := true
	r := rand.New(rand.NewPCG(seed, 11))
	for _, s := range []struct{ hips, films, readings int }{{30, 1, 1}, {30, 1, 2}, {12, 3, 1}, {12, 5, 2}, {40, 4, 1}} {
		limit := bias + 1.96*math.Sqrt(ofHip*ofHip+ofFilm*ofFilm+2*reading*reading)
		var held, mean float64
		for range runs {
			var of []string
			var a, b [][]float64
			for h := range s.hips {
				own := ofHip * r.NormFloat64()
				for range s.films - h%2*(s.films/2) {
					d := bias + own + ofFilm*r.NormFloat64()
					x, y := make([]float64, s.readings), make([]float64, s.readings)
					for k := range x {
						x[k], y[k] = d+reading*r.NormFloat64(), reading*r.NormFloat64()
					}
					of, a, b = append(of, fmt.Sprint(h)), append(a, x), append(b, y)
				}
			}
			m, err := wearfit.AgreementRepeated(a, b, of)
			if err != nil {
				return false, err
			}
			if _, upper := m.LimitsRecovered(0.95); upper.Contains(limit) {
				held += 100 / float64(runs)
			}
			if m.Bias.Interval(0.95).Contains(bias) {
				mean += 100 / float64(runs)
			}
		}
		verdict := ""
		if held < 93 || held > 97 || mean < 93 || mean > 97 {
			verdict, all = "  outside 93-97", false
		}
		if _, err := fmt.Fprintf(w, "%4d  %11d  %8d  %7.2f  %6.2f%s\n", s.hips, s.films, s.readings, held, mean, verdict); err != nil {
			return false, err
		}
	}
	return all, nil
}

// readingTables draws one study of each design, writes its components to w and its readings to
// out, for another program to split.
func readingTables(w io.Writer, seed uint64, out string) error {
	r := rand.New(rand.NewPCG(seed, 13))
	var b strings.Builder
	b.WriteString("study,target,reader,value\n")
	if _, err := fmt.Fprintln(w, "study,target,reader,interaction,repeat,loglik"); err != nil {
		return err
	}
	for k, s := range readingStudies {
		x := s.draw(r)
		c, err := wearfit.Crossed(x)
		if err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
		if _, err := fmt.Fprintf(w, "%d,%.12g,%.12g,%.12g,%.12g,%.12g\n", k, c.Target, c.Reader, c.Interaction, c.Repeat, c.LogLik); err != nil {
			return err
		}
		for i, row := range x {
			for j, v := range row {
				for _, y := range v {
					fmt.Fprintf(&b, "%d,%d,%d,%.17g\n", k, i, j, y)
				}
			}
		}
	}
	return os.WriteFile(out, []byte(b.String()), 0o644)
}
