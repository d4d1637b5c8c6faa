package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var demoCommand = command{
	name:  "demo",
	usage: "[--out DIR] [--window=false] [--format table|json|csv]",
	about: "command.demo",
	run:   runDemo,
}

func runDemo(ctx context.Context, c *call) error {
	dir := c.flags.String("out", "linerwatch-demo", "")
	window := c.flags.Bool("window", true, "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) > 0 {
		return c.fail(say("cli.yes-no-flags"), say("archive.nothing-to-do", "What", c.films[0]))
	}
	if err := os.MkdirAll(*dir, 0o755); err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	hips, err := c.demoHips(ctx, *dir)
	if err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	studyFile, err := c.saveDemo(ctx, *dir, hips)
	if err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	if err := c.printDemo(*dir, hips); err != nil {
		return err
	}
	result := judgeDemo(hips)
	if *window && c.OpenWindow != nil {
		return errors.Join(result, c.OpenWindow(nil, studyFile))
	}
	return result
}

func (c *call) demoHips(ctx context.Context, dir string) ([]batch.DemoHip, error) {
	show, clear := c.progress(say("cli.renders"))
	defer clear()
	return batch.Demo(ctx, dir, show)
}

// saveDemo writes study file, tables and figures into dir.
func (c *call) saveDemo(ctx context.Context, dir string, hips []batch.DemoHip) (studyFile string, err error) {
	studyFile = filepath.Join(dir, "demo"+study.FileExt)
	st, err := batch.OpenOrCreate(ctx, studyFile, c.Studies)
	if err != nil {
		return "", err
	}
	if err := errors.Join(batch.SaveDemo(ctx, st, hips, study.Stamp{At: c.Now(), Version: c.Version}), st.Close()); err != nil {
		return "", err
	}
	var trends []study.Trend
	drawn := false
	for _, h := range hips {
		trends = append(trends, h.Trend)
		drawn = drawn || len(h.Trend.Penetration) > 0
	}
	if drawn {
		const name = "trend.png"
		if err := report.SaveFile(filepath.Join(dir, name), report.Replace, figureOf(name, c.spoken(), c.Now(), trends...)); err != nil {
			return "", err
		}
	}
	err = report.SaveFile(filepath.Join(dir, "penetration.csv"), report.Replace, func(w io.Writer) error {
		return report.Penetrations(w, trends)
	})
	if err != nil {
		return "", err
	}
	return studyFile, report.SaveFile(filepath.Join(dir, "hips.csv"), report.Replace, func(w io.Writer) error {
		return report.KnownHips(w, report.CSV, knownHips(hips))
	})
}

func (c *call) printDemo(dir string, hips []batch.DemoHip) error {
	if c.form != report.Table {
		return report.KnownHips(c.Stdout, c.form, knownHips(hips))
	}
	_, err := fmt.Fprintf(c.Stdout, "%s\n\n", say("demo.invented"))
	if err != nil {
		return err
	}
	if err := report.KnownHips(c.Stdout, c.form, knownHips(hips)); err != nil {
		return err
	}
	var lines string
	for _, h := range hips {
		if h.TrendFail != nil {
			lines += say("demo.no-trend", "Hip", h.Hip.ID, "Why", study.Told(h.TrendFail)) + "\n"
		}
		for _, m := range h.Measured {
			if m.Status != study.Measured {
				lines += fmt.Sprintf("%s: %s: %s\n", m.Film.Name(), m.Status, study.NoteWords(m.Reason))
			}
		}
	}
	_, err = fmt.Fprintf(c.Stdout, "%s\n%s\n\n%s\n", lines, say("demo.where", "Ext", study.FileExt, "Dir", dir), report.Caution())
	return err
}

func knownHips(hips []batch.DemoHip) []report.Known {
	var out []report.Known
	for _, h := range hips {
		out = append(out, report.Known{
			Trend: h.Trend, Liner: h.Liner, Rate: h.Rate, BeddingIn: h.BeddingIn,
			Penetration: h.Shown, Inside: h.RateInside(),
		})
	}
	return out
}

// judgeDemo returns errPartly where a film of the demo was not measured.
func judgeDemo(hips []batch.DemoHip) error {
	for _, h := range hips {
		if h.TrendFail != nil || judge(h.Measured) != nil {
			return errPartly
		}
	}
	return nil
}
