package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"runtime"
	"strings"

	"linerwatch/measure/phantom/chance"
)

// config is what the flags say.
type config struct {
	folders, empties        []string
	hips, blank, jobs       int
	seed                    uint64
	styles                  chance.Options
	class, cache, out, look string
	blind, cost, verbose    bool
	json, brief, check      bool
}

func main() {
	var c config
	list := func(to *[]string) func(string) error {
		return func(s string) error { *to = append(*to, s); return nil }
	}
	flag.Func("films", "score the films of this folder, each hip in a folder of its own with a truth.json, in place of drawn ones; may be repeated", list(&c.folders))
	styles := func(to *[]chance.Style) func(string) error {
		return func(s string) error {
			for _, name := range strings.Split(s, ",") {
				*to = append(*to, chance.Style(name))
			}
			return nil
		}
	}
	flag.IntVar(&c.hips, "hips", 96, "replaced hips, three films each")
	flag.IntVar(&c.blank, "blank", 22, "drawn films without a hip replacement")
	flag.Func("without", "draw no film with this style: "+fmt.Sprint(chance.Styles())+"; may be repeated", styles(&c.styles.Without))
	flag.Func("only", "draw all films with this style; may be repeated", styles(&c.styles.Only))
	flag.Func("empty", "search the radiographs of this folder, none with a replaced hip, in place of drawn films; may be repeated", list(&c.empties))
	flag.IntVar(&c.styles.Whole, "whole", 12, "render one hip in so many as whole films; 0 for none")
	flag.IntVar(&c.jobs, "jobs", runtime.GOMAXPROCS(0), "hips measured at a time")
	flag.Uint64Var(&c.seed, "seed", 20261601, "seed of the drawn hips; tuning used seeds below 1000 only")
	flag.StringVar(&c.class, "class", "", "only the hips whose class contains this: plain, wide, shell, wire")
	flag.StringVar(&c.cache, "cache", "", "folder to keep rendered films in; empty it when the renderer changes")
	flag.StringVar(&c.out, "out", "", "instead of the report, write the first film of each hip to this folder, for other programs to measure")
	flag.StringVar(&c.look, "look", "", "write a picture of each film to this folder, the true outlines dotted, to be looked at")
	flag.BoolVar(&c.blind, "blind", false, "do not tell the search the detector's spacing")
	flag.BoolVar(&c.cost, "cost", true, "time the search alone on a whole drawn film of 2880 by 2400 pixels")
	flag.BoolVar(&c.verbose, "v", false, "print a line per film")
	flag.BoolVar(&c.json, "json", false, "print the report as JSON")
	flag.BoolVar(&c.brief, "brief", false, "print what is counted over all films in one line")
	flag.BoolVar(&c.check, "check", false, "fail where the stated 95 % intervals hold too seldom or too often")
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
	todo, about, err := films(c)
	if err != nil {
		return err
	}
	all, err := judge(c, todo)
	if err != nil {
		return err
	}
	r := reportOn(about, all)
	if c.cost && !c.given() {
		if r.Costs, err = measureCost(); err != nil {
			return err
		}
	}
	switch {
	case c.brief:
		fmt.Println(r.brief())
	case c.json:
		out := json.NewEncoder(os.Stdout)
		out.SetIndent("", "  ")
		err = out.Encode(r)
	default:
		r.print(os.Stdout)
	}
	if bad := r.failures(); err == nil && c.check && bad != "" {
		err = errors.New("95 % intervals: " + bad)
	}
	return err
}

// given reports whether films are given in place of drawn ones.
func (c config) given() bool { return len(c.folders)+len(c.empties) > 0 }

// films returns the films to be measured and says what they are.
func films(c config) (all []series, about string, err error) {
	if !c.given() {
		all, err = ownFilms(c)
		return all, c.about(), err
	}
	for _, folder := range c.folders {
		s, err := openFolder(folder)
		if err != nil {
			return nil, "", err
		}
		all = append(all, s...)
	}
	for _, folder := range c.empties {
		s, err := openEmpty(folder)
		if err != nil {
			return nil, "", err
		}
		all = append(all, s...)
	}
	return all, "films of " + strings.Join(append(c.folders, c.empties...), ", "), nil
}

// about says what is drawn.
func (c config) about() string {
	s := fmt.Sprintf("%d drawn hips, 3 films each, one hip in %d on whole films, seed %d (tuning uses seeds below 1000), spacing told: %v",
		c.hips, c.styles.Whole, c.seed, !c.blind)
	if len(c.styles.Without) > 0 {
		s += fmt.Sprintf(", without %v", c.styles.Without)
	}
	if len(c.styles.Only) > 0 {
		s += fmt.Sprintf(", all with %v", c.styles.Only)
	}
	return s
}
