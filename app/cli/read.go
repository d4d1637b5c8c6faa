package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

// runRead opens the window on a reading list. What hinders that is told before there is one.
func runRead(ctx context.Context, c *call) error {
	list, reader := c.flags.String("list", "", ""), c.flags.String("reader", "", "")
	if err := c.parse(); err != nil {
		return err
	}
	if *list == "" || *reader == "" {
		return c.fail("linerwatch study read FILE --list L1 --reader CODE", say("cli.list-reader"))
	}
	if err := c.readable(ctx, *list, *reader); err != nil {
		return err
	}
	if c.ReadList == nil {
		return &usageError{c.NoWindow, say("cli.read-in-window")}
	}
	return c.ReadList(c.films[0], *list, *reader)
}

// readable refuses a list that its reader cannot read now.
func (c *call) readable(ctx context.Context, list, reader string) (err error) {
	st, err := c.oneStudy(ctx, "read")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	lists, err := st.Lists(ctx)
	if err != nil {
		return fmt.Errorf("study: %w", err)
	}
	i := slices.IndexFunc(lists, func(l study.List) bool { return l.ID == list })
	switch {
	case i < 0:
		err = study.ErrUnknown
	case lists[i].Reader != reader:
		err = study.NewError("blind.not-yours", study.Values{"Reader": lists[i].Reader})
	case lists[i].Opened != nil:
		err = study.ErrListClosed
	default:
		return nil
	}
	return errors.New(say("cli.list-fault", "List", list, "Why", study.Told(err)))
}
