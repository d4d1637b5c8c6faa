package cli

import (
	"context"
	"errors"
	"fmt"
	"image"
	"os"
	"runtime"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var deidentifyCommand = command{
	name:  "deidentify",
	usage: "--key-file K --out DIR [--keep-characteristics] [--black [FILM:]X,Y,W,H] [--black-text] [--no-text-left] [--format table|json|csv] FILM...",
	about: "command.deidentify",
	run:   runDeidentify,
}

func runDeidentify(ctx context.Context, c *call) error {
	var opt batch.DeidentifyOptions
	keyFile := c.flags.String("key-file", "", "")
	c.flags.StringVar(&opt.Out, "out", "", "")
	c.flags.BoolVar(&opt.KeepCharacteristics, "keep-characteristics", false, "")
	c.flags.BoolVar(&opt.BlackText, "black-text", false, "")
	c.flags.BoolVar(&opt.NoTextLeft, "no-text-left", false, "")
	c.flags.Func("black", "", func(s string) error {
		colon := strings.LastIndexByte(s, ':')
		r, err := parseBlack(s[colon+1:])
		switch {
		case colon == 0:
			return errNoBlack()
		case colon > 0:
			opt.BlackIn = append(opt.BlackIn, batch.BlackPart{Film: s[:colon], Part: r})
		default:
			opt.Black = append(opt.Black, r)
		}
		return err
	})
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if err := c.checkDeidentify(*keyFile, opt); err != nil {
		return err
	}
	var err error
	if opt.Key, err = c.key(*keyFile); err != nil {
		return err
	}
	if err := os.MkdirAll(opt.Out, 0o755); err != nil {
		return fmt.Errorf("deidentify: %w", err)
	}
	c.sort()
	show, clear := c.progress(say("cli.copies"))
	films, err := batch.Deidentify(ctx, c.films, opt, show)
	clear()
	noted := batch.NoteShifts(*keyFile, films)
	if err != nil {
		return err
	}
	if err := errors.Join(report.Deidentified(c.Stdout, c.form, films), noted); err != nil {
		return err
	}
	for _, f := range films {
		if !f.Fault.IsZero() {
			return errPartly
		}
	}
	return nil
}

// checkDeidentify refuses what would be wrong before anything is written.
func (c *call) checkDeidentify(keyFile string, opt batch.DeidentifyOptions) error {
	out := opt.Out
	switch {
	case len(c.films) == 0:
		return c.fail(say("cli.films-deidentify"), say("cli.no-film"))
	case keyFile == "":
		return c.fail(say("cli.name-key-file"), say("cli.no-key-file"))
	case out == "":
		return c.fail(say("cli.name-out-dir"), say("cli.nowhere"))
	}
	if err := batch.CheckDeidentifyOut(out, c.films); err != nil {
		return c.fail(say("cli.choose-folder"), study.Told(err))
	}
	if err := batch.CheckBlack(c.films, opt.BlackIn); err != nil {
		return c.fail(say("cli.give-path"), study.Told(err))
	}
	if err := batch.CheckKeyFile(keyFile, out); err != nil {
		return c.fail(say("cli.key-elsewhere"), study.Told(err))
	}
	return nil
}

// key reads the key file or makes it, and says so.
func (c *call) key(path string) ([]byte, error) {
	key, made, err := batch.DeidentifyKey(path)
	if err != nil {
		return nil, err
	}
	if made {
		return key, c.say(say("cli.key-made", "Path", path))
	}
	if info, err := os.Stat(path); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return key, c.say(say("cli.key-open", "Path", path))
	}
	return key, nil
}

func errNoBlack() error { return errors.New(say("cli.black-form")) }

// parseBlack reads left edge, upper edge, width and height.
func parseBlack(s string) (image.Rectangle, error) {
	var x, y, w, h int
	var rest string
	n, _ := fmt.Sscanf(s+"\n", "%d,%d,%d,%d%s", &x, &y, &w, &h, &rest)
	if n != 4 || x < 0 || y < 0 || w < 1 || h < 1 || x+w < x || y+h < y {
		return image.Rectangle{}, errNoBlack()
	}
	return image.Rect(x, y, x+w, y+h), nil
}
