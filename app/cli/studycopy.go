package cli

import (
	"context"
	"fmt"

	"linerwatch/app/study"
)

const copyHelp = `
study copy FROM NEW makes a study of another, with all that it holds and its audit trail: a
file of one on a server, one on a server of a file, or a file of a file.

A study of several sites is in a PostgreSQL database: its FILE is an address,
postgres://USER@HOST/DATABASE, or a file of its owner's alone (chmod 600) that holds one. The
owner of an empty database makes the study there with study new or study copy, and lets
others work by the roles DATABASE_reader, DATABASE_coordinator and DATABASE_auditor. Passwords are found as PostgreSQL's
own programs find them: PGPASSWORD, PGPASSFILE, ~/.pgpass.
`

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
