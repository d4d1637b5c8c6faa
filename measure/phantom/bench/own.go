package main

import (
	"fmt"
	"math/rand/v2"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// ownFilms returns the drawn hips of the chosen classes, and the drawn films
// without a replaced hip.
func ownFilms(c config) ([]series, error) {
	todo, err := hips(c)
	if err != nil {
		return nil, err
	}
	var all []series
	for _, d := range todo {
		s := series{hip: fmt.Sprintf("hip %d", d.number)}
		for i := range d.scenes {
			f, err := c.ownFilm(d, i)
			if err != nil {
				return nil, err
			}
			s.films = append(s.films, f)
		}
		all = append(all, s)
	}
	for i := range c.empty {
		all = append(all, c.ownEmpty(i))
	}
	return all, nil
}

// ownFilm returns one film of a drawn hip.
func (c config) ownFilm(d drawing, i int) (film, error) {
	s := d.scenes[i]
	h := s.Hips[0]
	f := film{
		set: d.kind.String(), hip: fmt.Sprintf("hip %d", d.number), name: fmt.Sprintf("film %d", i),
		search: search{headMM: h.HeadMM, side: h.Side, readAs: h.Side},
		load:   func() (picture, error) { return c.picture(s) },
		factors: []factor{
			{name: "head_mm", value: h.HeadMM}, {name: "cup_mm", value: h.ShellMM}, {name: "cup", level: string(h.Cup)},
			{name: "inclination", value: h.Inclination}, {name: "anteversion", value: h.Anteversion}, {name: "spacing", value: s.Spacing},
		},
	}
	truths, err := phantom.Truths(s)
	if err != nil {
		return f, fmt.Errorf("%s: %w", f.hip, err)
	}
	t := truths[0]
	f.truth = &truth{
		side: h.Side, kind: h.Cup, head: t.Head, cup: t.Cup, mm: h.HeadMM / (2 * t.Head.R), offset: t.Offset, rim: t.Rim,
	}
	for _, other := range truths[1:] {
		f.truth.others = append(f.truth.others, other.Head)
	}
	if d.whole {
		f.search.side, f.truth.count = measure.SideUnknown, len(s.Hips)
	}
	return f, nil
}

func (c config) picture(s phantom.Scene) (p picture, err error) {
	start := time.Now()
	p.img, err = c.render(s)
	p.decoded = time.Since(start)
	if !c.blind {
		p.spacing = s.Spacing
	}
	return p, err
}

// ownEmpty returns the searches of a drawn film without a replaced hip.
func (c config) ownEmpty(i int) series {
	what := emptyFilms[i%len(emptyFilms)]
	f := film{set: "empty", hip: "empty", name: fmt.Sprintf("film %d", i), factors: []factor{{name: "kind", level: what}},
		load: func() (p picture, err error) {
			p.img, p.spacing, err = c.emptyFilm(what, rand.New(rand.NewPCG(c.seed, 1<<32+uint64(i))))
			return p, err
		}}
	return series{hip: f.name, films: emptySearches(f)}
}
