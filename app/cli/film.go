package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var filmCommand = command{
	name:  "film",
	usage: "FILM... [--frame N] [--png OUT] [--display OUT] [--replace] [--format table|json|csv]",
	about: "command.film",
	run:   runFilm,
}

// picture is one PNG to be written of each film.
type picture struct {
	flag  string
	write func(path string, frame int, w io.Writer) error
	out   string
	to    map[string]string // by film
}

func runFilm(ctx context.Context, c *call) error {
	pictures := []*picture{{flag: "png", write: batch.StoredPNG}, {flag: "display", write: batch.DisplayPNG}}
	for _, p := range pictures {
		c.flags.StringVar(&p.out, p.flag, "", "")
	}
	frame := c.frame()
	c.format()
	c.replaces()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) == 0 {
		return c.fail(say("cli.films-film"), say("cli.no-film"))
	}
	facts, err := c.facts(ctx, *frame)
	if err != nil {
		return err
	}
	from := map[string]string{}
	for _, p := range pictures {
		if err := c.targets(p, facts, from); err != nil {
			return err
		}
	}
	if err := report.Facts(c.Stdout, c.form, facts); err != nil {
		return err
	}
	var result error
	for _, f := range facts {
		if !f.Fault.IsZero() {
			result = errPartly
			continue
		}
		if err := c.draw(pictures, f.Film); err != nil {
			return fmt.Errorf("film: %w", err)
		}
	}
	return result
}

// draw writes the pictures of one film.
func (c *call) draw(pictures []*picture, film string) error {
	for _, p := range pictures {
		if to, ok := p.to[film]; ok {
			if err := report.SaveFile(to, c.over, func(w io.Writer) error { return p.write(film, 1, w) }); err != nil {
				return err
			}
		}
	}
	return nil
}

// frame is the flag for a frame's number, 0 until given.
func (c *call) frame() *int {
	n := new(int)
	c.flags.Func("frame", "", func(s string) (err error) {
		if *n, err = strconv.Atoi(s); err != nil || *n < 1 {
			return errors.New(say("cli.from-one"))
		}
		return nil
	})
	return n
}

// sort replaces folders by the films in them, and says what else is there. That a line
// cannot be written is no reason to measure nothing.
func (c *call) sort() {
	films, passed := batch.Sort(c.films)
	c.films = films
	if len(passed) > 0 {
		_, _ = fmt.Fprintf(c.Stderr, "linerwatch: %s: %s\n", c.name, report.OneLine(say("cli.passed-over", "What", study.PassedWords(passed))))
	}
}

func (c *call) facts(ctx context.Context, frame int) ([]study.FileFacts, error) {
	c.sort()
	show, clear := c.progress(say("cli.reads-films"))
	defer clear()
	return batch.AllFacts(ctx, c.films, frame, c.Now(), show)
}

// targets finds where each film's picture goes. from tells which film has taken
// which file already.
func (c *call) targets(p *picture, facts []study.FileFacts, from map[string]string) error {
	p.to = map[string]string{}
	if p.out == "" {
		return nil
	}
	info, err := os.Stat(p.out)
	folder := err == nil && info.IsDir()
	if !folder && len(facts) > 1 {
		return c.fail(say("cli.make-folder"), say("cli.no-folder-films", "Flag", p.flag, "Out", p.out, "N", len(facts)))
	}
	var films []string
	for _, f := range facts {
		films = append(films, f.Film)
	}
	for _, f := range facts {
		to := p.out
		if folder {
			base := filepath.Base(batch.FileOf(f.Film))
			frame := strings.ReplaceAll(strings.TrimPrefix(f.Film, batch.FileOf(f.Film)), "#", "-")
			to = filepath.Join(p.out, strings.TrimSuffix(base, filepath.Ext(base))+frame+".png")
		}
		if by, twice := from[to]; twice && by != p.flag+" "+f.Film {
			_, other, _ := strings.Cut(by, " ")
			if other == f.Film {
				return c.fail(say("cli.two-names"), say("cli.both-become", "File", to))
			}
			return c.fail(say("cli.one-at-a-time"), say("cli.films-become", "Film", other, "Other", f.Film, "File", to))
		}
		if err := c.target(p.flag, to, films); err != nil {
			return err
		}
		from[to], p.to[f.Film] = p.flag+" "+f.Film, to
	}
	return nil
}
