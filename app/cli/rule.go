package cli

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

func runRule(ctx context.Context, c *call) (err error) {
	counts, by := c.flags.String("counts", "", ""), c.by()
	grades := c.flags.String("grades", "", "")
	if err := c.parse(); err != nil {
		return err
	}
	var rule study.Rule
	if *grades != "" && *grades != study.Yes && *grades != study.No {
		return c.fail("try: linerwatch help study", "--grades: yes or no, not %q", *grades)
	}
	if *counts != "" {
		if rule, err = study.ParseRule(*counts); err != nil {
			return c.fail("try: linerwatch help study", "%s", study.Told(err))
		}
	}
	st, err := c.oneStudy(ctx, "rule")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	if *counts != "" {
		if err := c.hasReader(ctx, st, study.ReaderOf(rule)); err != nil {
			return err
		}
		if err := batch.SetCounts(ctx, st, rule, c.stamp(*by)); err != nil {
			return fmt.Errorf("study: %w", err)
		}
	}
	if rule, err = batch.CountsOf(ctx, st); err != nil {
		return fmt.Errorf("study: %w", err)
	}
	if *grades != "" {
		if err := batch.SetGradesFirst(ctx, st, *grades == study.Yes, c.stamp(*by)); err != nil {
			return fmt.Errorf("study: %w", err)
		}
	}
	asked, err := batch.GradesFirst(ctx, st)
	if err != nil {
		return fmt.Errorf("study: %w", err)
	}
	words := texts.Say("grade.not-asked", nil)
	if asked {
		words = texts.Say("grade.asked", nil)
	}
	return lines(c.Stdout, fmt.Sprintf("%s: %s", study.RuleCode(rule), study.RuleWords(rule)), words)
}

// hasReader refuses a reader who has neither read in the study nor has a list in it; "" is none.
func (c *call) hasReader(ctx context.Context, st study.Store, reader string) error {
	if reader == "" {
		return nil
	}
	lists, err := st.Lists(ctx)
	known := slices.ContainsFunc(lists, func(l study.List) bool { return l.Reader == reader })
	if err == nil {
		err = st.Records(ctx, func(r study.Record) error {
			known = known || slices.Contains(r.Readers(), reader)
			return nil
		})
	}
	if err == nil && !known {
		err = c.fail("name a reader of the study", "no reading by %q in %s", reader, filepath.Base(c.films[0]))
	}
	return err
}

func runAdjudicate(ctx context.Context, c *call) (err error) {
	var plan study.AdjudicationPlan
	limit := c.length("limit", 0, study.MaxLinerMM)
	c.flags.StringVar(&plan.Reader, "reader", "", "")
	c.flags.Func("between", "", func(s string) error { plan.Between = append(plan.Between, s); return nil })
	seed, by := c.seed(), c.by()
	start := c.flags.String("start", string(study.StartBlank), "")
	c.flags.BoolVar(&plan.Shows, "show-numbers", false, "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	plan.Limit, plan.Seed, plan.Start = *limit, seed(), study.ListStart(*start)
	st, err := c.oneStudy(ctx, "adjudicate")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	lists, err := batch.Adjudicate(ctx, st, plan, c.stamp(*by))
	if study.NoneDiffer(err) {
		return errors.Join(c.say("%s", study.Told(err)), c.tellLists(ctx, st, nil))
	}
	if err != nil {
		return c.fail("try: linerwatch help study", "%s", study.Told(err))
	}
	return c.tellLists(ctx, st, lists)
}
