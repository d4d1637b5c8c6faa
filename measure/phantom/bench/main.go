// Command bench measures phantom films unattended and compares with the truth.
//
//	go run ./measure/phantom/bench
//	go run ./measure/phantom/bench -class hard -hips 120 -seed 7
//
// Each hip has three films: a baseline and two with the head moved into the
// liner, the patient repositioned, other noise. The hips run over head sizes,
// materials, spacings, magnifications, builds and both kinds of cup. The plain
// class is a clear film of a metal head in a metal shell; the hard class is a
// poor film (phantom.Hard: obese, clipped, enhanced, collimated), a ceramic
// head, a wire marker, or several of these.
//
// The report counts films on which the hip was found, refused, or outlined
// wrongly (head centre off by over 1 mm or cup centre by over 1.5 mm); it gives
// the error of penetration against the ideal observer of phantom.Truths, the
// share of stated 95 % intervals that hold the truth, and the cost of find.Hips. The
// last two lines of a class are of the cup's rim, as its ellipse lies on the film.
// Films without a hip replacement must be refused.
//
// One hip in -whole is rendered as whole films of 426 by 355 mm, the side left
// to find.Hips; the others as windows of 150 mm around the hip, the side told. All
// pixels are those of the whole film.
package main

import (
	"flag"
	"fmt"
	"os"
	"runtime"
)

// config is what the flags say.
type config struct {
	hips, empty, whole, jobs int
	seed                     uint64
	class, cache, out        string
	blind, cost, verbose     bool
}

func main() {
	var c config
	flag.IntVar(&c.hips, "hips", 72, "replaced hips, three films each")
	flag.IntVar(&c.empty, "empty", 24, "films without a hip replacement")
	flag.IntVar(&c.whole, "whole", 6, "render one hip in so many as whole films; 0 for none")
	flag.IntVar(&c.jobs, "jobs", runtime.GOMAXPROCS(0), "hips measured at a time")
	flag.Uint64Var(&c.seed, "seed", 20261601, "seed of the drawn hips; tuning used seeds below 1000 only")
	flag.StringVar(&c.class, "class", "", "only the hips whose class contains this: plain, hard, wire, Alumina, poor, ...")
	flag.StringVar(&c.cache, "cache", "", "folder to keep rendered films in; empty it when the renderer changes")
	flag.StringVar(&c.out, "out", "", "instead of the report, write the first film of each hip to this folder, for other programs to measure")
	flag.BoolVar(&c.blind, "blind", false, "do not tell find.Hips the detector's spacing")
	flag.BoolVar(&c.cost, "cost", true, "time find.Hips alone on a whole film of 2880 by 2400 pixels")
	flag.BoolVar(&c.verbose, "v", false, "print a line per film that is refused, wrong, or off by more than 0.1 mm")
	flag.Parse()
	if err := run(c); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(c config) error {
	if c.out != "" {
		return export(c)
	}
	t, err := judge(c)
	if err != nil {
		return err
	}
	if t.empty, err = refusals(c); err != nil {
		return err
	}
	t.print(os.Stdout, c)
	if !c.cost {
		return nil
	}
	k, err := measureCost(c)
	if err != nil {
		return err
	}
	k.print(os.Stdout)
	return nil
}
