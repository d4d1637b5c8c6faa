// Bench reports how often the 95 % intervals of wearfit hold the truth, over
// numbers of films and reading errors, and what a mixed model costs:
//
//	go run ./wearfit/bench [-runs 4000] [-seed 1] [-cost=false]
//	go run ./wearfit/bench -survival|-shrink|-tests [-runs 4000] [-seed 1]
//	go run ./wearfit/bench -readers [-runs 4000] [-seed 1]    # of agreement between readers
//	go run ./wearfit/bench -settling [-runs 4000] [-seed 1] [-hips 5|20|100|1000] [-line 1...8]
//
// It ends with status 1 where a line's interval holds the truth in less than 93
// or more than 97 % of the simulated hips, where one of components of readings does
// so in less than 93 %, and where one of limits of agreement is outside that range.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
)

func main() {
	runs := flag.Int("runs", 4000, "simulated hips for each line of the table")
	seed := flag.Uint64("seed", 1, "of the random numbers")
	cost := flag.Bool("cost", true, "time the mixed model")
	cohort := flag.Int("cohort", 0, "fit one cohort of so many hips instead, and write its films to -out")
	survival := flag.Bool("survival", false, "judge the survival of liners instead")
	shrunken := flag.Bool("shrink", false, "judge the intervals of hips' shrunken lines instead")
	tests := flag.Bool("tests", false, "count how often tests find a difference where there is none instead")
	patients := flag.Int("liners", 0, "write the liners of so many patients to -out instead")
	robust := flag.Bool("robust", false, "judge the intervals of the robust mixed model instead")
	errorsToo := flag.Bool("errors", false, "fit readings with errors of every kind and write them to -out instead, for .ci/mixed.R")
	out := flag.String("out", "", "file for the films of -cohort, for -liners or for one table of each design of -readers, CSV")
	reading := flag.Bool("readers", false, "the intervals of agreement between readers instead")
	all := flag.Bool("settling", false, "judge the model of all films of a cohort instead")
	hips := flag.Int("hips", 0, "of -settling: cohorts of so many hips only")
	line := flag.Int("line", 0, "of -settling: this line of each cohort's size only")
	flag.Parse()
	ok, err := true, error(nil)
	switch {
	case *survival:
		err = linerCoverage(os.Stdout, *runs, *seed)
	case *shrunken:
		err = shrinkage(os.Stdout, *runs, *seed)
	case *robust:
		err = robustness(os.Stdout, *runs, *seed)
	case *tests:
		err = sizes(os.Stdout, *runs, *seed)
	case *errorsToo:
		err = erring(os.Stdout, *seed, *out)
	case *patients > 0:
		err = linerTable(*patients, *seed, *out)
	case *reading && *out != "":
		err = readingTables(os.Stdout, *seed, *out)
	case *reading:
		ok, err = readers(os.Stdout, *runs, *seed)
	case *all && *cohort > 0:
		err = settlingSingle(os.Stdout, *cohort, *seed, *out)
	case *all:
		ok, err = settling(os.Stdout, *runs, *seed, *hips, *line)
	case *cohort > 0:
		err = single(os.Stdout, *cohort, *seed, *out)
	default:
		ok, err = report(os.Stdout, *runs, *seed, *cost)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(2)
	}
	if !ok {
		os.Exit(1)
	}
}

// report writes the tables and says whether all coverages are as stated.
func report(w io.Writer, runs int, seed uint64, cost bool) (bool, error) {
	if runs < 1 {
		return false, fmt.Errorf("%d runs", runs)
	}
	ok, err := coverage(w, runs, seed)
	if err != nil || !cost {
		return ok, err
	}
	return ok, costs(w, seed)
}
