package cli

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

// share is a flag in percent, as a part of 1; 0 until given.
func (c *call) share(name string) *float64 {
	v := new(float64)
	c.flags.Func(name, "", func(s string) error {
		x, ok := study.ParseNumber(strings.TrimSuffix(s, "%"))
		if !ok || !(x >= 0 && x <= 100) {
			return errors.New(say("cli.share"))
		}
		*v = x / 100
		return nil
	})
	return v
}

// count is a flag that is a number from 0 on.
func (c *call) count(name string) *int {
	v := new(int)
	c.flags.Func(name, "", func(s string) error {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 {
			return errors.New(say("cli.from-zero"))
		}
		*v = n
		return nil
	})
	return v
}

// by is the flag of who does it.
func (c *call) by() *string { return c.flags.String("by", coordinator, "") }

func (c *call) stamp(by string) study.Stamp {
	return study.Stamp{Reader: by, At: c.Now().UTC(), Version: c.Version}
}

// seed is the flag of a seed, which is drawn where none is given.
func (c *call) seed() func() uint64 {
	var seed uint64
	given := false
	c.flags.Func("seed", "", func(s string) (err error) {
		given = true
		if seed, err = strconv.ParseUint(s, 10, 64); err != nil {
			return errors.New(say("cli.seed"))
		}
		return nil
	})
	return func() uint64 {
		if !given {
			var b [8]byte
			_, _ = rand.Read(b[:]) // never fails
			seed = binary.LittleEndian.Uint64(b[:])
		}
		return seed
	}
}

// oneStudy opens the one study file that is named.
func (c *call) oneStudy(ctx context.Context, verb string) (study.Store, error) {
	if len(c.films) != 1 {
		return nil, c.fail("linerwatch study "+verb+" FILE"+study.FileExt, say("cli.name-study"))
	}
	return c.openStudy(ctx, c.films[0])
}

func runAssign(ctx context.Context, c *call) (err error) {
	var plan study.ListPlan
	c.flags.Func("reader", "", func(s string) error { plan.Readers = append(plan.Readers, s); return nil })
	c.flags.Func("double", "", func(s string) error {
		a, b, ok := strings.Cut(s, "=")
		if !ok {
			return errors.New(say("cli.film-film"))
		}
		plan.Doubles = append(plan.Doubles, [2]string{a, b})
		return nil
	})
	share, gap, days, seed, by := c.share("repeat"), c.count("gap"), c.count("days"), c.seed(), c.by()
	start := c.flags.String("start", string(study.StartBlank), "")
	c.flags.BoolVar(&plan.Shows, "show-numbers", false, "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	plan.Share, plan.Gap, plan.Days, plan.Seed, plan.Start = *share, *gap, *days, seed(), study.ListStart(*start)
	st, err := c.oneStudy(ctx, "assign")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	lists, err := batch.Assign(ctx, st, plan, c.stamp(*by))
	if err != nil {
		return c.fail(tryHelp("study"), study.Told(err))
	}
	return c.tellLists(ctx, st, lists)
}

// tellLists writes lists and how far they are.
func (c *call) tellLists(ctx context.Context, st study.Store, lists []study.List) error {
	var rows []report.ListProgress
	for _, l := range lists {
		done, err := st.ListDone(ctx, l.ID)
		if err != nil {
			return fmt.Errorf("study: %w", err)
		}
		rows = append(rows, report.ListProgress{List: l, Done: len(done)})
	}
	return report.Lists(c.Stdout, c.form, rows)
}

func runLists(ctx context.Context, c *call) (err error) {
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	st, err := c.oneStudy(ctx, "lists")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	lists, err := st.Lists(ctx)
	if err != nil {
		return fmt.Errorf("study: %w", err)
	}
	return c.tellLists(ctx, st, lists)
}

func runUnblind(ctx context.Context, c *call) (err error) {
	list, why, by := c.flags.String("list", "", ""), c.flags.String("why", "", ""), c.by()
	if err := c.parse(); err != nil {
		return err
	}
	if *list == "" || strings.TrimSpace(*why) == "" {
		return c.fail("linerwatch study unblind FILE --list L1 --why TEXT", say("cli.list-why"))
	}
	st, err := c.oneStudy(ctx, "unblind")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	stamp := c.stamp(*by)
	stamp.Why = *why
	if err := st.AddUnblinding(ctx, study.Unblinding{ListID: *list, Stamp: stamp}); err != nil {
		return errors.New(say("cli.list-fault", "List", *list, "Why", study.Told(err)))
	}
	_, err = fmt.Fprintln(c.Stdout, say("cli.list-closed", "List", *list))
	return err
}
