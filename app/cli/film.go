package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

var filmCommand = command{
	name:  "film",
	usage: "FILM... [--png OUT] [--format table|json|csv]",
	about: "tell what a film's file says of itself",
	help: `
A FILM is a file or a folder. Nothing is measured.

  --png OUT    write the stored values as a 16-bit grey PNG, bit for bit: OUT is a
               file, or a folder where there are several films
  --format F   table, json or csv`,
	run: runFilm,
}

func runFilm(ctx context.Context, c *call) error {
	out := c.flags.String("png", "", "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) == 0 {
		return c.fail("name files or folders: linerwatch film FILM...", "no film")
	}
	facts, err := c.facts(ctx)
	if err != nil {
		return err
	}
	targets, err := c.pngTargets(*out, facts)
	if err != nil {
		return err
	}
	if err := report.Facts(c.Stdout, c.form, facts); err != nil {
		return err
	}
	var result error
	for _, f := range facts {
		if f.Fault != "" {
			result = errPartly
			continue
		}
		if to, ok := targets[f.Film]; ok {
			err := session.SaveFile(to, func(w io.Writer) error { return session.StoredPNG(f.Film, w) })
			if err != nil {
				return fmt.Errorf("film: %w", err)
			}
		}
	}
	return result
}

func (c *call) facts(ctx context.Context) ([]study.Facts, error) {
	show, clear := c.progress("reading films:")
	defer clear()
	return session.AllFacts(ctx, c.films, show)
}

// pngTargets returns where each film's PNG goes.
func (c *call) pngTargets(out string, facts []study.Facts) (map[string]string, error) {
	targets := map[string]string{}
	if out == "" {
		return targets, nil
	}
	info, err := os.Stat(out)
	folder := err == nil && info.IsDir()
	if !folder && len(facts) > 1 {
		return nil, c.fail("make the folder first", "--png %s is not a folder, and there are %d films", out, len(facts))
	}
	from := map[string]string{}
	for _, f := range facts {
		to := out
		if folder {
			base := filepath.Base(f.Film)
			to = filepath.Join(out, strings.TrimSuffix(base, filepath.Ext(base))+".png")
		}
		if other, twice := from[to]; twice && other != f.Film {
			return nil, c.fail("write them one at a time", "%s and %s would both become %s", other, f.Film, to)
		}
		if filepath.Clean(to) == filepath.Clean(f.Film) {
			return nil, c.fail("choose another name", "--png would overwrite the film %s", f.Film)
		}
		from[to], targets[f.Film] = f.Film, to
	}
	return targets, nil
}
