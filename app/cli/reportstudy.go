package cli

import (
	"context"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/report/account"
	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

func reportStudy(ctx context.Context, c *call) error {
	w := c.wholeFlags()
	var size paper.Size
	c.paper(&size)
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 1 {
		return c.fail("linerwatch report study FILE"+study.FileExt+" --out FILE.pdf", say("cli.name-study"))
	}
	ending, err := c.endingOf(*w.out, "pdf", "html")
	if err != nil {
		return err
	}
	w.options.Model, w.options.Checks = true, true
	told, err := c.tell(ctx, c.films[0], w, study.WrittenStudy)
	if err != nil {
		return err
	}
	a := account.New(told, account.About{Study: study.NameOf(c.films[0]), Program: "Linerwatch " + c.Version, Date: c.Now(), Demo: w.demo, Altered: w.altered})
	return c.save(*w.out, func(out io.Writer) error {
		if ending == "html" {
			return a.HTML(out)
		}
		return a.PDF(out, size)
	})
}

// isDemo keeps whether the study's films and codes are invented.
func (w *wholeFlags) isDemo(ctx context.Context, st study.Store) (err error) {
	w.demo, err = batch.IsDemo(ctx, st)
	return err
}
