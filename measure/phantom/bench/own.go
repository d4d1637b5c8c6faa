package main

import (
	"fmt"
	"image"
	"math/rand/v2"
	"strings"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
	"linerwatch/measure/phantom/chance"
)

// draw draws the hips of the chosen classes, by their number.
func (c config) draw() (all []chance.Hip, err error) {
	if err := c.styles.Validate(); err != nil {
		return nil, err
	}
	for n := 0; len(all) < c.hips; n++ {
		h := chance.Draw(c.seed, n, c.styles)
		if strings.Contains(h.Class(), c.class) {
			all = append(all, h)
		}
		if n > 1000 && len(all) == 0 {
			return nil, fmt.Errorf("no class contains %q", c.class)
		}
	}
	return all, nil
}

// ownFilms returns the drawn hips of the chosen classes, and the drawn films
// without a replaced hip.
func ownFilms(c config) (all []series, err error) {
	todo, err := c.draw()
	if err != nil {
		return nil, err
	}
	for _, d := range todo {
		s := series{hip: fmt.Sprintf("hip %d", d.Number)}
		for i := range d.Films {
			f, err := c.ownFilm(d, i)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", s.hip, err)
			}
			s.films = append(s.films, f)
		}
		all = append(all, s)
	}
	for i := range c.blank {
		all = append(all, c.ownEmpty(i))
	}
	return all, nil
}

// ownFilm returns one film of a drawn hip.
func (c config) ownFilm(d chance.Hip, i int) (film, error) {
	drawn := d.Films[i]
	f := film{
		set: d.Class(), hip: fmt.Sprintf("hip %d", d.Number), name: fmt.Sprintf("film %d", i),
		search:  search{headMM: d.HeadMM, side: d.Side, readAs: d.Side},
		load:    func() (picture, error) { return c.picture(drawn) },
		factors: factorsDrawn(drawn.Factors),
	}
	truths, err := phantom.Truths(drawn.Scene)
	if err != nil {
		return f, err
	}
	f.truth = truthOf(truths[0], drawn.Scene.Hips[0])
	if d.Whole {
		f.set += ", whole"
		f.search.side, f.truth.count = measure.SideUnknown, 1
		for k, other := range truths[1:] {
			f.truth.others = append(f.truth.others, other.Head)
			if drawn.Scene.Hips[1+k].HeadMM == d.HeadMM { // the size that is asked for
				f.truth.count++
			}
		}
	}
	return f, nil
}

// truthOf returns the truth of a drawn hip.
func truthOf(t phantom.Truth, h phantom.Hip) *truth {
	return &truth{side: h.Side, kind: h.Cup, head: t.Head, cup: t.Cup, mm: h.HeadMM / (2 * t.Head.R), offset: t.Offset, rim: t.Rim}
}

func factorsDrawn(all []chance.Factor) (out []factor) {
	for _, f := range all {
		out = append(out, factor{f.Name, f.Level, f.Value})
	}
	return out
}

// picture develops a drawn film.
func (c config) picture(f chance.Film) (p picture, err error) {
	start := time.Now()
	p.img, err = c.develop(f)
	p.loaded = time.Since(start)
	if !c.blind {
		p.spacing = f.Scene.Spacing
	}
	return p, err
}

// ownEmpty returns the searches of a drawn film without a replaced hip: one of the
// kinds of package chance, a chest, or noise.
func (c config) ownEmpty(i int) series {
	const more = 2
	kinds := len(chance.Kinds) + more
	round, k := i/kinds, i%kinds
	f := film{set: "drawn", hip: "empty", name: fmt.Sprintf("film %d", i)}
	kind := "chest"
	switch {
	case k < len(chance.Kinds):
		drawn, e := chance.Empty(c.seed, round*len(chance.Kinds)+k, c.styles)
		kind = string(drawn)
		f.load = func() (picture, error) { return c.picture(e) }
	case k == len(chance.Kinds):
		f.load = c.sketch(i, 0.4, chest)
	default:
		kind = "noise"
		f.load = c.sketch(i, 0.15, static)
	}
	f.factors = []factor{{name: "kind", level: kind}}
	return series{hip: f.name, films: emptySearches(f)}
}

// sketch returns a loader of a film that is drawn without rays.
func (c config) sketch(i int, spacing float64, draw func(*rand.Rand) *image.Gray16) func() (picture, error) {
	return func() (picture, error) {
		return picture{img: draw(rand.New(rand.NewPCG(c.seed, 1<<32+uint64(i)))), spacing: spacing}, nil
	}
}
