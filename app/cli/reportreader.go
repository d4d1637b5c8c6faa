package cli

import (
	"context"
	"errors"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/report/reader"
	"linerwatch/app/study"
)

func reportReader(ctx context.Context, c *call) (err error) {
	s := c.sheet()
	if err := c.parseSheet(s); err != nil {
		return err
	}
	st, err := c.lookStudy(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	r, whose, err := c.recordFor(ctx, st, s)
	if err != nil {
		return err
	}
	if _, err := c.altered(ctx, st); err != nil {
		return err
	}
	rep := reader.Report{Record: r, Reader: whose, Unchecked: *s.unchecked}
	if err := rep.Tell(); errors.Is(err, study.ErrNoneAccepted) {
		return c.errUnaccepted()
	} else if err != nil {
		return err
	}
	told, err := batch.TellHip(ctx, st, r, rep.Counting(), rep.Shown(), reader.PictureSide)
	if err != nil {
		return err
	}
	rep.Changes, rep.FilmChanges, rep.Points = told.Changes, told.Films, told.Points
	for id, p := range told.Pictures {
		rep.Show(id, reader.Picture(p))
	}
	return c.saveReport(ctx, st, s, study.Disclosure{Kind: study.ReaderReport, HipID: r.Hip.ID}, func(w io.Writer) error {
		return rep.PDF(w, s.speech, reader.Print{Size: s.size, Clinic: *s.heading, Date: c.Now(), Program: report.Program(c.Version)})
	})
}
