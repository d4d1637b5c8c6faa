package cli

import (
	"context"
	"fmt"
	"strings"

	"linerwatch/app/study"
)

func runCopy(ctx context.Context, c *call) error {
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 2 {
		return c.fail("linerwatch study copy FROM NEW", "name a study and the new one")
	}
	from, to := c.films[0], c.films[1]
	switch {
	case !study.IsFile(to):
		return c.fail("its name ends in "+study.FileExt+", or is an address", "%s is not named as a study", to)
	case c.Studies.Copy == nil:
		return fmt.Errorf("%s: this store cannot", c.name)
	}
	if err := c.Studies.Copy(ctx, from, to); err != nil {
		return c.studyFault(study.SafeName(from), err)
	}
	_, err := fmt.Fprintf(c.Stdout, "%s is made of %s\n", study.SafeName(to), study.SafeName(from))
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
		return c.fail("linerwatch study merge FILE OTHER --out NEW"+study.FileExt, "name two study files and a new one")
	case *both != "" && (!two || sites[0] == "" || sites[1] == "" || strings.Contains(*both, "/")):
		return c.fail("--sites A,B", "%q is not two codes of sites", *both)
	case c.Studies.Merge == nil:
		return fmt.Errorf("%s: this store cannot", c.name)
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
		return fmt.Errorf("%s: %s; nothing was written", c.name, study.Count(n, "contradiction"))
	}
	for _, k := range m.Kinds {
		if _, err := fmt.Fprintf(c.Stdout, "%s: %d added, %d in both\n", k.Name, k.Added, k.Same); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(c.Stdout, "%s of the other's audit trail kept\n%s is made\n", study.Count(m.Trail, "row"), *out)
	return err
}
