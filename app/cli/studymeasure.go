package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

func runBulk(ctx context.Context, c *call) (err error) {
	again := c.flags.Bool("again", false, "")
	return c.swept(ctx, c.openStudy, func(st study.Store) error {
		b := batch.Bulk{By: study.Stamp{Version: c.Version}, Now: c.Now, Again: *again}
		show, clear := c.progress("measuring films:")
		defer clear()
		b.Tell = func(s batch.Searched) {
			if show != nil {
				show(s.Done, s.Total)
			}
			if text := s.Told(); text != "" && err == nil {
				err = lines(c.Stdout, text)
			}
		}
		got, ended := b.Run(ctx, st)
		clear()
		if err := errors.Join(err, lines(c.Stdout, got.Told()...)); err != nil {
			return err
		}
		switch {
		case ended != nil && !errors.Is(ended, context.Canceled):
			return fmt.Errorf("study measure: %w", ended)
		case ended != nil:
			return ended
		case got.Failed+got.Missing > 0:
			return errPartly
		}
		return nil
	})
}

// swept opens the one study that is named for what is done to all of it.
func (c *call) swept(ctx context.Context, open func(context.Context, string) (study.Store, error), do func(st study.Store) error) (err error) {
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 1 {
		return c.fail("linerwatch study measure FILE"+study.FileExt, "name one study file")
	}
	st, err := open(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	return do(st)
}

func runReplay(ctx context.Context, c *call) error {
	return c.swept(ctx, c.lookStudy, func(st study.Store) error {
		open, err := openLists(ctx, st)
		if err == nil && len(open) > 0 {
			err = c.say("%s", texts.Say("blind.replay", texts.Values{"Lists": strings.Join(open, ", ")}))
		}
		if err != nil {
			return err
		}
		b := batch.Bulk{By: study.Stamp{Version: c.Version}, Now: c.Now}
		show, clear := c.progress("measuring films again:")
		defer clear()
		same, differ, untold, taken := 0, 0, 0, 0
		err = b.Replay(ctx, st, func(r batch.Replayed, done, total int) error {
			if show != nil {
				show(done, total)
			}
			if r.Reader != "" {
				taken++
			}
			switch {
			case !r.Reason.IsZero():
				untold++
			case len(r.Differ) > 0:
				differ++
			default:
				same++
				return nil
			}
			return lines(c.Stdout, r.Told()...)
		})
		clear()
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(c.Stdout, "Measured again: %s the same to the last digit, %d otherwise, %d not measured.\n",
			study.Count(same, "proposal"), differ, untold)
		if err == nil && taken > 0 {
			_, err = fmt.Fprintf(c.Stdout, "Of these a reader accepted %d untouched.\n", taken)
		}
		if err == nil && differ+untold > 0 {
			err = errPartly
		}
		return err
	})
}
