package dimse

import (
	"bytes"
	"context"
	"errors"
	"io"

	"linerwatch/dicomio"
)

// Kept is called with each object that arrives, as the DICOM file that it makes. What it
// has read is whole only where it has come to io.EOF; where it fails, all ends with its
// error.
type Kept func(o dicomio.Object, file io.Reader) error

// Outcome is how many objects an archive says that it has sent; the others it could not,
// or never tried.
type Outcome struct{ Done, Failed, Warned, Remaining int }

// ErrPartly is the error of an archive that has sent only some of what was asked for.
var ErrPartly = errors.New("dimse: not all was sent")

// partlyError is ErrPartly in numbers.
type partlyError struct{ *dicomio.Fault }

func (partlyError) Is(target error) bool { return target == ErrPartly }

func (o Outcome) partly() error {
	if o.Failed == 0 && o.Remaining == 0 {
		return nil
	}
	return partlyError{dicomio.Refused("dimse.partly", "the archive has sent %d of %d objects", "Done", o.Done+o.Warned, "All", o.Done+o.Warned+o.Failed+o.Remaining)}
}

// Get has the objects that keys name sent on the same connection (C-GET, PS3.4 section
// C.4.3). Those that have come are kept even where it fails.
func (c *Client) Get(ctx context.Context, level string, keys dicomio.Values, keep Kept) (o Outcome, err error) {
	list := append(each([]string{studyGet}, explicitLittle, implicitLittle), each(c.Classes, c.Syntaxes...)...)
	err = c.with(ctx, list, c.Classes, func(con *conn) error {
		id, err := con.context(studyGet, explicitLittle, implicitLittle)
		if err != nil {
			return err
		}
		if err := con.sendValues(id, asking(cGet, studyGet, 1, true), identifier(level, keys)); err != nil {
			return err
		}
		o, err = con.sending(cGet, keep)
		return err
	})
	return o, err
}

// sending takes what an archive sends as far as its last word, on which the outcome rests.
func (c *conn) sending(field uint16, keep Kept) (o Outcome, err error) {
	for {
		id, cmd, err := c.command()
		switch {
		case err != nil:
			return o, err
		case cmd.is(cStore) && keep != nil:
			if err := c.takes(id, cmd, keep); err != nil {
				return o, err
			}
			continue
		case !cmd.is(field|response) || cmd.number(elResponds) != 1:
			return o, broken("a message that is not due")
		}
		if cmd.hasData() { // the UIDs of those that failed; what has not come is known anyway
			if _, err := c.values(id); err != nil {
				return o, err
			}
		}
		o = cmd.outcome(o)
		switch status := cmd.number(elStatus); {
		case pending(status):
		case status == statusDone, status == statusPartly:
			return o, o.partly()
		default:
			return o, cmd.statusFault()
		}
	}
}

// outcome is what a response counts; what it does not say stays as it was, but that
// nothing remains after the last.
func (c command) outcome(was Outcome) Outcome {
	for e, n := range map[uint16]*int{elCompleted: &was.Done, elFailed: &was.Failed, elWarned: &was.Warned} {
		if len(c[e]) == 2 {
			*n = int(c.number(e))
		}
	}
	was.Remaining = int(c.number(elRemaining))
	return was
}

// takes keeps one object and answers its store.
func (c *conn) takes(id byte, cmd command, keep Kept) error {
	o := dicomio.Object{Class: cmd.text(elClass), Instance: cmd.text(elInstance), Syntax: c.contexts[id].syntax}
	if !cmd.hasData() || o.Class != c.contexts[id].class || o.Instance == "" {
		return broken("an object that is none")
	}
	data := c.data(id)
	err := keep(o, io.MultiReader(bytes.NewReader(o.Meta()), data))
	if err == nil {
		_, err = io.Copy(io.Discard, data) // what keep left
	}
	if err != nil {
		return err
	}
	return c.send(id, cmd.answering(statusDone, false), nil)
}
