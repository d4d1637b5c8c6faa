package cli

import (
	"context"
	"errors"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// discloses adds to the audit trail that a command tells numbers of the study at path, which st
// reads, while reading lists are open, and says that they are; what is handed out of a hip is told
// always. Where the trail cannot be written, that is said, and the command goes on.
func (c *call) discloses(ctx context.Context, st study.Store, path, by string, d study.Disclosure) error {
	open, err := openLists(ctx, st)
	if err != nil {
		return err
	}
	return c.disclosesIn(ctx, open, path, by, d)
}

// openLists returns the IDs of lists that are read blind.
func openLists(ctx context.Context, st study.Store) (ids []string, err error) {
	left, err := batch.Unfinished(ctx, st)
	for _, l := range left {
		ids = append(ids, l.ID)
	}
	return ids, err
}

// disclosesIn is discloses of a study whose open lists are known.
func (c *call) disclosesIn(ctx context.Context, open []string, path, by string, d study.Disclosure) error {
	d.Lists = open
	switch {
	case len(open) > 0:
		if err := c.say(texts.Say("blind.command", texts.Values{"Lists": strings.Join(d.Lists, ", ")})); err != nil {
			return err
		}
	case d.Kind != study.PatientPage && d.Kind != study.ReaderReport:
		return nil
	}
	d.Stamp = c.stamp(by)
	if err := c.recordDisclosure(ctx, path, d); err != nil {
		return c.say(texts.Say("blind.unrecorded", texts.Values{"Why": study.Told(err)}))
	}
	return nil
}

func (c *call) recordDisclosure(ctx context.Context, path string, d study.Disclosure) error {
	st, err := c.openStudy(ctx, path)
	if err != nil {
		return err
	}
	return errors.Join(st.AddDisclosure(ctx, d), st.Close())
}

// coordinator is who asks where a command does not say who.
const coordinator = "coordinator"
