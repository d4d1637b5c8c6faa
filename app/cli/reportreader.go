package cli

import (
	"context"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/report/reader"
	"linerwatch/app/study"
)

func reportReader(ctx context.Context, c *call) error {
	s := c.sheet()
	return c.ofHip(ctx, s, func(st study.Store, r study.Record, whose string) error {
		rep := reader.Report{Record: r, Reader: whose, Unchecked: *s.unchecked}
		if err := rep.Tell(); err != nil {
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
	})
}
