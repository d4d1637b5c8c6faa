package cli

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"linerwatch/app/study"
)

// then is a flag of a point of an audit trail: the number of a row, a moment, or a day for its
// end.
func (c *call) then(name string) *study.Then {
	to := new(study.Then)
	c.flags.Func(name, "", func(s string) error {
		if row, err := strconv.ParseInt(s, 10, 64); err == nil && row > 0 {
			*to = study.Then{Row: row}
			return nil
		}
		if t, err := time.Parse(time.RFC3339, s); err == nil {
			*to = study.Then{At: t}
			return nil
		}
		day, err := time.Parse(time.DateOnly, s)
		if err != nil {
			return errors.New(study.NoteWords(study.Note{Code: "rewind.flag"}))
		}
		*to = study.Then{At: day.AddDate(0, 0, 1).Add(-time.Nanosecond)}
		return nil
	})
	return to
}

// rewound takes an open study back to a point of its trail, and says to which row: what it returns,
// whatever the error, is to be closed in its place.
func (c *call) rewound(ctx context.Context, now study.Store, to study.Then) (study.Store, error) {
	path := c.films[0]
	if c.Studies.Rewind == nil {
		return now, c.studyFault(path, study.NewError("rewind.cannot", nil))
	}
	dir, err := os.MkdirTemp("", "then")
	if err != nil {
		return now, err
	}
	then := fleeting{Store: now, dir: dir}
	out := filepath.Join(dir, "then"+study.FileExt)
	last, err := c.Studies.Rewind(ctx, path, out, to)
	if err != nil {
		return then, c.studyFault(path, err)
	}
	old, err := c.Studies.Look(ctx, out)
	if err != nil {
		return then, c.studyFault(path, err)
	}
	then.Store, then.now = old, now
	told := study.Note{Code: "rewind.told", Values: study.Values{"Row": float64(last.Seq), "At": last.At.UTC().Format(time.RFC3339)}}
	return then, c.say(study.NoteWords(told))
}

// fleeting is a study as it once was, in a folder that goes with it.
type fleeting struct {
	study.Store
	now study.Store // the study itself, where Store is what it was
	dir string
}

func (f fleeting) Close() error {
	err := f.Store.Close()
	if f.now != nil {
		err = errors.Join(err, f.now.Close())
	}
	return errors.Join(err, os.RemoveAll(f.dir))
}
