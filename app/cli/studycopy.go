package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"linerwatch/app/study"
)

func runCopy(ctx context.Context, c *call) error {
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 2 {
		return c.fail("linerwatch study copy FROM NEW", say("cli.copy-two"))
	}
	from, to := c.films[0], c.films[1]
	switch {
	case !study.IsFile(to):
		return c.fail(say("cli.ends-in-or-address", "Ext", study.FileExt), say("cli.not-study", "File", to))
	case c.Studies.Copy == nil:
		return errors.New(say("cli.store-cannot", "Command", c.name))
	}
	if err := c.Studies.Copy(ctx, from, to); err != nil {
		return c.studyFault(study.SafeName(from), err)
	}
	_, err := fmt.Fprintln(c.Stdout, say("cli.made-of", "To", study.SafeName(to), "From", study.SafeName(from)))
	return err
}

func runMerge(ctx context.Context, c *call) error {
	out := c.flags.String("out", "", "")
	both := c.flags.String("sites", "", "")
	if err := c.parse(); err != nil {
		return err
	}
	var sites [2]string
	a, b, two := strings.Cut(*both, ",")
	sites[0], sites[1] = strings.TrimSpace(a), strings.TrimSpace(b)
	switch {
	case len(c.films) != 2 || !study.IsFile(*out):
		return c.fail("linerwatch study merge FILE OTHER --out NEW"+study.FileExt, say("cli.merge-three"))
	case *both != "" && (!two || sites[0] == "" || sites[1] == "" || strings.Contains(*both, "/")):
		return c.fail("--sites A,B", say("cli.two-sites", "Sites", *both))
	case c.Studies.Merge == nil:
		return errors.New(say("cli.store-cannot", "Command", c.name))
	}
	m, err := c.Studies.Merge(ctx, c.films[0], c.films[1], *out, sites, study.Stamp{At: c.Now(), Version: c.Version, Why: "two studies were joined"})
	if err != nil {
		return c.studyFault(c.films[0], err)
	}
	for _, clash := range m.Clashes {
		if _, err := fmt.Fprintln(c.Stderr, "linerwatch: study: "+study.NoteWords(clash)); err != nil {
			return err
		}
	}
	if n := len(m.Clashes); n > 0 {
		return fmt.Errorf("%s: %s", c.name, say("cli.contradictions", "N", n))
	}
	for _, k := range m.Kinds {
		if _, err := fmt.Fprintln(c.Stdout, say("cli.merged", "Kind", k.Name, "Added", k.Added, "Same", k.Same)); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(c.Stdout, "%s\n%s\n", say("cli.trail-kept", "N", m.Trail), say("cli.made", "File", *out))
	return err
}
