package cli

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// oneFile returns the study file that is named.
func (c *call) oneFile(verb, more string) (string, error) {
	if len(c.films) != 1 {
		return "", c.fail("linerwatch study "+verb+" FILE"+study.FileExt+more, "name one study file")
	}
	return c.films[0], nil
}

func runNew(ctx context.Context, c *call) error {
	if err := c.parse(); err != nil {
		return err
	}
	path, err := c.oneFile("new", "")
	if err != nil {
		return err
	}
	if !study.IsFile(path) {
		return c.fail("its name ends in "+study.FileExt, "%s is not named as a study file", study.NameOf(path))
	}
	st, err := c.Studies.Create(path)
	if err == nil {
		err = errors.Join(batch.SetGradesFirst(ctx, st, true, c.stamp("")), st.Close())
	}
	if err != nil {
		return fmt.Errorf("%s: %s", c.name, study.Told(err))
	}
	_, err = fmt.Fprintf(c.Stdout, "%s is made\n", study.SafeName(path))
	return err
}

func runBackup(ctx context.Context, c *call) error {
	to := c.flags.String("to", "", "")
	if err := c.parse(); err != nil {
		return err
	}
	path, err := c.oneFile("backup", "")
	if err != nil {
		return err
	}
	if c.Studies.Backup == nil {
		return fmt.Errorf("%s: this store makes none", c.name)
	}
	made, err := c.Studies.Backup(ctx, path, *to, c.Now())
	if err != nil {
		return c.studyFault(path, err)
	}
	_, err = fmt.Fprintf(c.Stdout, "%s is written, and sound\n%s\n", made, texts.Say("backup.restore", nil))
	return err
}

func runSalvage(ctx context.Context, c *call) error {
	out := c.flags.String("out", "", "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	path, err := c.oneFile("salvage", " --out NEW"+study.FileExt)
	switch {
	case err != nil:
		return err
	case *out == "":
		return c.fail("--out NEW"+study.FileExt, "no new file")
	case c.Studies.Salvage == nil:
		return fmt.Errorf("%s: this store cannot", c.name)
	}
	done, err := c.Studies.Salvage(ctx, path, *out, study.Stamp{At: c.Now(), Version: c.Version})
	if err != nil {
		return fmt.Errorf("%s: %s", c.name, study.Told(err))
	}
	if err := report.Salvaged(c.Stdout, c.form, done); err != nil {
		return err
	}
	if c.form == report.Table {
		if _, err := fmt.Fprintf(c.Stdout, "%s is written; look at it: linerwatch study check %s\n", *out, *out); err != nil {
			return err
		}
	}
	for _, k := range done.Kinds {
		if k.Lost > 0 || k.Unsure {
			return errPartly
		}
	}
	return nil
}

func runCheck(ctx context.Context, c *call) (err error) {
	films := c.flags.Bool("films", false, "")
	noted := c.noted()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	path, err := c.oneFile("check", "")
	if err != nil {
		return err
	}
	st, err := c.lookStudy(ctx, path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	if err := st.Check(ctx); err != nil {
		return c.studyFault(path, err)
	}
	r, err := c.look(ctx, st, noted, *films)
	if err != nil {
		return c.studyFault(path, err)
	}
	if c.Studies.Backups != nil {
		r.Backups = c.Studies.Backups(path)
	}
	if err := report.Check(c.Stdout, c.form, r); err != nil {
		return err
	}
	if !r.Whole() {
		return errPartly
	}
	return nil
}

// noted is the flag of a row that was noted; its Seq is 0 where none is given.
func (c *call) noted() *study.TrailRow {
	row := new(study.TrailRow)
	c.flags.Func("noted", "", func(s string) (err error) {
		n, hash, ok := strings.Cut(s, ":")
		if row.Seq, err = strconv.ParseInt(n, 10, 64); err != nil || !ok || row.Seq < 1 || hash == "" {
			return errors.New("write it as the check told it, such as 124:9f3c")
		}
		row.Hash = strings.ToLower(hash)
		return nil
	})
	return row
}

// look looks through a study.
func (c *call) look(ctx context.Context, st study.Store, noted *study.TrailRow, films bool) (r report.Checked, err error) {
	if r.Audit, err = st.Audit(ctx); err != nil {
		return r, err
	}
	if noted.Seq > 0 {
		r.Noted = noted
	}
	err = st.Trail(ctx, func(row study.TrailRow) error {
		r.NotedHolds = r.NotedHolds || row.Seq == noted.Seq && row.Hash == noted.Hash
		if row.What == study.DisclosureRow {
			r.Disclosed = append(r.Disclosed, row)
		}
		return nil
	})
	if err != nil {
		return r, err
	}
	if !films {
		return r, nil
	}
	list, err := batch.AllFilms(ctx, st)
	if err != nil {
		return r, err
	}
	show, clear := c.progress("films")
	defer clear()
	for i, f := range list {
		if err := ctx.Err(); err != nil {
			return r, err
		}
		state, err := batch.CompareFile(f)
		if err != nil {
			return r, err
		}
		r.Films = append(r.Films, report.CheckedFilm{Film: f, State: string(state), Bad: state == batch.FileAbsent || state == batch.FileChanged})
		if show != nil {
			show(i+1, len(list))
		}
	}
	return r, nil
}
