package cli

import (
	"context"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

// call is one command with its arguments.
type call struct {
	Env
	name  string
	flags *flag.FlagSet
	films []string // what is not a flag
	form  report.Format
	over  report.Over // what becomes of files that exist

	upgrade bool // a study of an earlier version may be changed
}

// runCommand gives a command its arguments. A command declares its flags and
// then calls parse.
func runCommand(ctx context.Context, c command, args []string, env Env) error {
	if slices.ContainsFunc(args, func(a string) bool { return a == "-h" || a == "--help" || a == "-help" }) {
		if _, ok := studyVerbs()[args[0]]; ok && c.name == "study" {
			return help(env, []string{c.name, args[0]})
		}
		return help(env, []string{c.name})
	}
	k := &call{Env: env, name: c.name, flags: flag.NewFlagSet(c.name, flag.ContinueOnError), films: args, form: report.Table}
	k.flags.SetOutput(io.Discard)
	if c.studies {
		k.flags.BoolVar(&k.upgrade, "upgrade", false, "")
	}
	k.flags.Usage = func() {}
	return c.run(ctx, k)
}

// fail is a wrong use of the command.
func (c *call) fail(hint, fault string) error {
	return &usageError{c.name + ": " + fault, hint}
}

// parse reads the flags, which may stand before, between and after the other
// arguments, and leaves the others in c.films. After "--" nothing is a flag.
func (c *call) parse() error {
	args := c.films
	c.films = nil
	for {
		if err := c.flags.Parse(args); err != nil {
			return c.flagError(err)
		}
		rest := c.flags.Args()
		if n := len(args) - len(rest); n > 0 && args[n-1] == "--" {
			c.films = append(c.films, rest...)
			return nil
		}
		if len(rest) == 0 {
			return nil
		}
		c.films = append(c.films, rest[0])
		args = rest[1:]
	}
}

// flagError puts the words of package flag into the program's own.
func (c *call) flagError(err error) error {
	text := err.Error()
	hint := tryHelp(c.name)
	if name, ok := strings.CutPrefix(text, "flag provided but not defined: -"); ok {
		return c.fail(hint, say("cli.no-flag", "Flag", strings.TrimPrefix(name, "-")))
	}
	if name, ok := strings.CutPrefix(text, "flag needs an argument: -"); ok {
		return c.fail(hint, say("cli.needs-value", "Flag", name))
	}
	if text, ok := strings.CutPrefix(text, "invalid boolean value "); ok {
		value, rest, _ := strings.Cut(text, " for -")
		name, _, _ := strings.Cut(rest, ":")
		return c.fail(say("cli.true-false"), say("cli.takes-not", "Flag", name, "Value", value))
	}
	if i := strings.Index(text, " for flag -"); i > 0 {
		value, _, _ := strings.Cut(strings.TrimPrefix(text, "invalid value "), " for flag -")
		name, reason, _ := strings.Cut(text[i+len(" for flag -"):], ": ")
		return c.fail(reason, say("cli.takes-not", "Flag", name, "Value", value))
	}
	return c.fail(hint, text)
}

// format declares --format.
func (c *call) format() {
	c.flags.Func("format", "", func(s string) error {
		f, err := report.ParseFormat(s)
		if err != nil {
			return errors.New(say("cli.formats"))
		}
		c.form = f
		return nil
	})
}

// length is a flag in mm with limits, 0 until given.
func (c *call) length(name string, lo, hi float64) *float64 {
	v := new(float64)
	c.flags.Func(name, "", func(s string) error {
		x, ok := study.ParseNumber(s)
		if !ok || !(x >= lo && x <= hi) {
			return errors.New(say("cli.mm-range", "From", lo, "To", hi))
		}
		*v = x
		return nil
	})
	return v
}

// years is a flag in years, def until given.
func (c *call) years(name string, def float64) *float64 {
	v := &def
	c.flags.Func(name, "", func(s string) error {
		x, ok := study.ParseNumber(s)
		if !ok || !(x > 0 && x <= study.MaxStartYears) {
			return errors.New(say("cli.years-range", "Most", study.MaxStartYears))
		}
		*v = x
		return nil
	})
	return v
}

// date is a flag like 2004-05-03, the zero time until given.
func (c *call) date(name string) *time.Time {
	v := new(time.Time)
	c.flags.Func(name, "", func(s string) error {
		t, err := time.Parse(time.DateOnly, s)
		if err != nil {
			return errors.New(say("cli.date-form"))
		}
		*v = t
		return nil
	})
	return v
}

// measureFlags are the flags of the commands that measure.
type measureFlags struct {
	head   *float64
	source *float64
	frame  *int
	opt    batch.MeasureOptions
}

func (c *call) measureFlags() *measureFlags {
	m := &measureFlags{head: c.length("head-mm", study.MinHeadMM, study.MaxHeadMM), frame: c.frame()}
	c.flags.BoolVar(&m.opt.BeamOff, "beam-off", false, "")
	c.flags.BoolVar(&m.opt.Unscanned, "ignore-resolution", false, "")
	m.source = c.length("source-mm", batch.LeastSource, batch.MostSource)
	c.points("line", 2, func(film string, p []study.Pixel) {
		m.opt.Given = append(m.opt.Given, batch.Given{Film: film, Line: &[2]study.Pixel{p[0], p[1]}})
	})
	c.points("rim", 2, func(film string, p []study.Pixel) {
		m.opt.Given = append(m.opt.Given, batch.Given{Film: film, Rim: &[2]study.Pixel{p[0], p[1]}})
	})
	c.flags.Func("lateral", "", func(s string) error {
		i := strings.LastIndex(s, ":")
		axes, err := study.ParseAxes(s[i+1:])
		if i < 1 || err != nil {
			return errors.New(say("cli.lateral-form"))
		}
		m.opt.Given = append(m.opt.Given, batch.Given{Film: s[:i], View: study.Lateral, Axes: axes})
		return nil
	})
	c.flags.Func("ap", "", func(s string) error {
		m.opt.Given = append(m.opt.Given, batch.Given{Film: s, View: study.AP})
		return nil
	})
	c.points("beam-center", 1, func(film string, p []study.Pixel) {
		m.opt.Given = append(m.opt.Given, batch.Given{Film: film, Center: &p[0]})
	})
	c.flags.Func("side", "", func(s string) (err error) {
		if m.opt.Side, err = study.ParseSide(s); err != nil || m.opt.Side == study.SideUnknown {
			return errors.New(say("cli.sides"))
		}
		return nil
	})
	return m
}

// points is a flag that may be repeated: a film, a colon and n points in pixels,
// as FILM:x,y or FILM:x1,y1,x2,y2.
func (c *call) points(name string, n int, take func(film string, p []study.Pixel)) {
	want := say("cli.points-form", "Points", []string{"", "x,y", "x1,y1,x2,y2"}[n])
	c.flags.Func(name, "", func(s string) error {
		i := strings.LastIndex(s, ":")
		if i < 1 {
			return errors.New(want)
		}
		numbers := strings.Split(s[i+1:], ",")
		if len(numbers) != 2*n {
			return errors.New(want)
		}
		p := make([]study.Pixel, n)
		for k, text := range numbers {
			v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return errors.New(want)
			}
			if k%2 == 0 {
				p[k/2].X = v
			} else {
				p[k/2].Y = v
			}
		}
		take(s[:i], p)
		return nil
	})
}

// options checks what measuring needs.
func (c *call) options(m *measureFlags) (batch.MeasureOptions, error) {
	if len(c.films) == 0 {
		return m.opt, c.fail(say("cli.films-measure", "Command", c.name), say("cli.no-film"))
	}
	if *m.head == 0 {
		return m.opt, c.fail(say("cli.give-head"), say("cli.no-head"))
	}
	m.opt.HeadMM, m.opt.SourceMM, m.opt.Frame = *m.head, *m.source, *m.frame
	m.opt.Now = c.Now()
	return m.opt, nil
}

// replaces declares the flag that lets a command write over files that exist.
func (c *call) replaces() {
	c.flags.BoolFunc("replace", "", func(string) error { c.over = report.Replace; return nil })
}

// target refuses, before any work, a file that is not to be written over: one of the
// films at all, another that exists without --replace.
func (c *call) target(flag, path string, films []string) error {
	for _, f := range films {
		if sameFile(path, batch.FileOf(f)) {
			return c.fail(say("cli.choose-name"), say("cli.over-film", "Flag", flag, "Path", path))
		}
	}
	if _, err := os.Lstat(path); err == nil && c.over == report.KeepOld {
		return c.fail(say("cli.or-replace"), say("cli.exists", "Flag", flag, "Path", path))
	}
	return nil
}

// sameFile reports whether two paths name one file.
func sameFile(a, b string) bool {
	if filepath.Clean(a) == filepath.Clean(b) {
		return true
	}
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}
