package main

import (
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// A film is wrong where a centre is further off than this, mm.
const (
	headOff = 1.0
	cupOff  = 1.5
)

// counts are the films of one class.
type counts struct {
	films, found, refused int
	warned, wrong         int // outlined wrongly with a warning, and without
	otherKind, otherSide  int // found, but called another cup or another side
	missed                int // the other replaced hip of a whole film
	superior, medial      sample
	offsetUp, offsetIn    sample
	scale                 sample
	inclination, version  sample
	spent                 time.Duration
}

// tally is what the films gave.
type tally struct {
	by    map[string]*counts
	empty emptyCounts
}

// of returns the counts of everything a class belongs to.
func (t *tally) of(k kind) []*counts {
	class := "all plain"
	if k.hard() {
		class = "all hard"
	}
	var out []*counts
	for _, name := range []string{k.String(), class} {
		if t.by[name] == nil {
			t.by[name] = &counts{}
		}
		out = append(out, t.by[name])
	}
	return out
}

// hips draws the hips of the chosen classes.
func hips(c config) (todo []drawing, err error) {
	var chosen []kind
	for _, k := range kinds {
		if strings.Contains(k.String(), c.class) {
			chosen = append(chosen, k)
		}
	}
	if len(chosen) == 0 {
		return nil, fmt.Errorf("no class contains %q", c.class)
	}
	for i := range c.hips {
		todo = append(todo, draw(c, i, chosen[i%len(chosen)]))
	}
	return todo, nil
}

// judge measures the films of all hips.
func judge(c config) (*tally, error) {
	t := &tally{by: map[string]*counts{}}
	todo, err := hips(c)
	if err != nil {
		return nil, err
	}
	results := make([]*hipResult, len(todo))
	err = inParallel(c.jobs, len(todo), func(i int) (err error) {
		results[i], err = c.measureHip(todo[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	for i, r := range results {
		for _, n := range t.of(todo[i].kind) {
			r.addTo(n)
		}
	}
	return t, nil
}

// inParallel calls f for 0 to n, some at a time, and returns the first error.
func inParallel(jobs, n int, f func(i int) error) error {
	var wg sync.WaitGroup
	next := make(chan int)
	errs := make([]error, n)
	for range max(1, jobs) {
		wg.Go(func() {
			for i := range next {
				errs[i] = f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return errors.Join(errs...)
}

// hipResult is what the three films of one hip gave.
type hipResult struct {
	films        []filmResult
	penetrations []pair // against the first film that was found
}

type pair struct{ got, want measure.Vector }

type filmResult struct {
	found, refused, wrong, warned, otherKind, otherSide, missed bool
	reading                                                     measure.Reading
	truth                                                       measure.Vector
	mm                                                          float64 // per px, true
	spent                                                       time.Duration
	rim                                                         rimResult
}

func (r *hipResult) addTo(n *counts) {
	for _, f := range r.films {
		n.films++
		n.spent += f.spent
		for _, c := range []struct {
			is bool
			n  *int
		}{
			{f.found, &n.found}, {f.refused, &n.refused}, {f.wrong && !f.warned, &n.wrong}, {f.wrong && f.warned, &n.warned},
			{f.otherKind, &n.otherKind}, {f.otherSide, &n.otherSide}, {f.missed, &n.missed},
		} {
			if c.is {
				*c.n++
			}
		}
		if f.found {
			compare(pair{f.reading.Offset, f.truth}, &n.offsetUp, &n.offsetIn)
			n.scale.add(f.reading.Scale/f.mm-1, f.reading.SEScale/f.mm)
			if f.rim.told {
				n.inclination.add(f.rim.inclination, f.rim.seInclination)
				n.version.add(f.rim.version, f.rim.seVersion)
			}
		}
	}
	for _, p := range r.penetrations {
		compare(p, &n.superior, &n.medial)
	}
}

// compare adds the errors of a vector.
func compare(p pair, superior, medial *sample) {
	seS, seM := p.got.SE()
	superior.add(p.got.Superior-p.want.Superior, seS)
	medial.add(p.got.Medial-p.want.Medial, seM)
}

// measureHip renders and measures the films of a hip.
func (c config) measureHip(d drawing) (*hipResult, error) {
	r := &hipResult{}
	var base *filmResult
	for i, s := range d.scenes {
		h := s.Hips[0]
		name := fmt.Sprintf("hip %d film %d, %v %g in %g mm, version %.0f, %.3f mm per px, whole %v", d.number, i, d.kind, h.HeadMM, h.ShellMM, h.Anteversion, s.Spacing, d.whole)
		img, err := c.render(s)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		f, err := c.measureFilm(img, d, s, name)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		r.films = append(r.films, f)
		switch {
		case !f.found:
		case base == nil:
			base = &f
		default:
			p := pair{f.reading.Offset.Sub(base.reading.Offset), f.truth.Sub(base.truth)}
			r.penetrations = append(r.penetrations, p)
			if off := math.Hypot(p.got.Superior-p.want.Superior, p.got.Medial-p.want.Medial); off > 0.1 {
				c.say("%s: penetration off by %.3f mm", name, off)
			}
		}
	}
	return r, nil
}

func (c config) say(format string, args ...any) {
	if c.verbose {
		fmt.Fprintf(os.Stderr, format+"\n", args...)
	}
}

// measureFilm detects the hip on one film and compares it with the truth.
func (c config) measureFilm(img *image.Gray16, d drawing, s phantom.Scene, name string) (f filmResult, err error) {
	truths, err := phantom.Truths(s)
	if err != nil {
		return f, err
	}
	h, truth := s.Hips[0], truths[0]
	opt := find.Options{HeadMM: h.HeadMM, Spacing: s.Spacing}
	if !d.whole {
		opt.Side = h.Side
	}
	if c.blind {
		opt.Spacing = 0
	}
	start := time.Now()
	hips, err := find.Hips(context.Background(), img, opt)
	f.spent = time.Since(start)
	f.mm = h.HeadMM / (2 * truth.Head.R)
	f.truth = truth.Offset
	var refusal *measure.Refusal
	if errors.As(err, &refusal) {
		f.refused = true
		c.say("%s: %v", name, err)
		return f, nil
	}
	if err != nil {
		return f, err
	}
	found := nearest(hips, truth.Head)
	if len(truths) > 1 && away(found.Head.Circle, truths[1].Head) < away(found.Head.Circle, truth.Head) {
		f.refused, f.missed = true, true // what was outlined is the other hip
		c.say("%s: only the other hip found", name)
		return f, nil
	}
	head, cup := f.mm*away(found.Head.Circle, truth.Head), f.mm*away(found.Cup.Circle, truth.Cup)
	f.otherSide = found.Side != h.Side
	f.otherKind = found.CupKind != h.Cup
	f.missed = d.whole && len(hips) < len(s.Hips)
	f.warned = slices.ContainsFunc(found.Warnings, aboutOutlines)
	f.wrong = head > headOff || cup > cupOff || (d.whole && len(hips) > len(s.Hips))
	if f.wrong || f.otherSide || f.missed || f.otherKind {
		c.say("%s: head off by %.2f mm, cup by %.2f mm, %s, %v, %d hips of %d, %v", name, head, cup, found.CupKind, found.Side, len(hips), len(s.Hips), found.Warnings)
	}
	if f.wrong {
		return f, nil
	}
	f.found = true
	f.rim = rimOf(found, truth)
	f.reading, err = measure.Read(found.Head.CircleFit, found.Cup.CircleFit, h.HeadMM, h.Side, 0)
	return f, err
}

// aboutOutlines reports whether a warning is about the outlines, not about the side.
func aboutOutlines(w measure.Warning) bool {
	return w.Code != measure.SideUnproven && w.Code != measure.SideContradicts
}

// nearest returns the hip whose head is nearest to a circle's centre.
func nearest(hips []measure.Hip, c measure.Circle) measure.Hip {
	best := hips[0]
	for _, h := range hips[1:] {
		if away(h.Head.Circle, c) < away(best.Head.Circle, c) {
			best = h
		}
	}
	return best
}

// away returns the distance of two circles' centres, px.
func away(a, b measure.Circle) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }
