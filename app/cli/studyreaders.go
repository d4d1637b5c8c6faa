package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

func runReaders(ctx context.Context, c *call) (err error) {
	user, by := c.flags.String("user", "", ""), c.by()
	var codes []string
	given := false
	c.flags.Func("codes", "", func(s string) error {
		given = true
		for code := range strings.SplitSeq(s, ",") {
			if code = strings.TrimSpace(code); code != "" {
				codes = append(codes, code)
			}
		}
		return nil
	})
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if given != (*user != "") {
		return c.fail("linerwatch study readers FILE --user USER --codes A,B", "%s", texts.Say("readers.both", nil))
	}
	open := c.lookStudy
	if given {
		open = c.openStudy
	}
	path, err := c.oneFile("readers", "")
	if err != nil {
		return err
	}
	st, err := open(ctx, path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	of, ok := st.(study.Granting)
	if !ok {
		return fmt.Errorf("%s: %s", c.name, texts.Say("readers.file", nil))
	}
	if given {
		if err := of.Grant(ctx, *user, codes, c.stamp(*by)); err != nil {
			return c.studyFault(path, err)
		}
	}
	all, err := of.Codes(ctx)
	if err != nil {
		return c.studyFault(path, err)
	}
	return report.Codes(c.Stdout, c.form, all)
}
