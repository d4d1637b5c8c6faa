package cli

import (
	"context"
	"errors"
	"io"

	"linerwatch/app/report"
	"linerwatch/app/report/patient"
	"linerwatch/app/study"
)

// The distances that a pace is reckoned for, mm.
const leastPace, mostPace = 0.1, 20

func reportPatient(ctx context.Context, c *call) error {
	s := c.sheet()
	c.flags.Func("pace", "", func(text string) error {
		mm, ok := study.ParseNumber(text)
		if !ok || !(mm >= leastPace && mm <= mostPace) {
			return errors.New("it is a number of mm from 0.1 to 20")
		}
		s.pace = mm
		return nil
	})
	return c.ofHip(ctx, s, func(st study.Store, r study.Record, whose string) error {
		h, err := patient.Of(r, whose, *s.unchecked)
		if err != nil {
			return err
		}
		return c.saveReport(ctx, st, s, study.Disclosure{Kind: study.PatientPage, HipID: r.Hip.ID}, func(w io.Writer) error {
			return patient.New(h, s.speech).PDF(w, patient.Print{Size: s.size, Clinic: *s.heading, Whom: *s.whom, PaceMM: s.pace,
				Date: c.Now(), Program: report.Program(c.Version)})
		})
	})
}
