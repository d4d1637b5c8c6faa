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

// add counts what another retrieval has sent.
func (o Outcome) add(p Outcome) Outcome {
	return Outcome{o.Done + p.Done, o.Failed + p.Failed, o.Warned + p.Warned, o.Remaining + p.Remaining}
}

// Get has the objects that each of a list of keys names sent on the same connection
// (C-GET, PS3.4 section C.4.3). Those that have come are kept even where it fails; where
// the archive cannot send some, the error is ErrPartly.
func (c *Client) Get(ctx context.Context, level string, list []dicomio.Values, keep Kept) (Outcome, error) {
	proposed := append(each([]string{studyGet}, explicitLittle, implicitLittle), each(c.Classes, c.Syntaxes...)...)
	return c.retrieve(ctx, asking(cGet, studyGet, 1, true), level, list, proposed, c.Classes, keep)
}

// Move has the objects that each of a list of keys names sent to the acceptor of a title,
// which the archive has to know with its address, and which has to be serving (C-MOVE,
// PS3.4 section C.4.2). Errors are those of Get.
func (c *Client) Move(ctx context.Context, level string, list []dicomio.Values, to string) (Outcome, error) {
	cmd := asking(cMove, studyMove, 1, true)
	cmd.setText(elMoveTo, to, ' ')
	return c.retrieve(ctx, cmd, level, list, each([]string{studyMove}, explicitLittle, implicitLittle), nil, nil)
}

// retrieve sends a request for each of a list of keys, the next once the last is answered.
func (c *Client) retrieve(ctx context.Context, cmd command, level string, list []dicomio.Values, proposed []proposal, back []string, keep Kept) (o Outcome, err error) {
	err = c.with(ctx, proposed, back, func(con *conn) error {
		id, err := con.context(cmd.text(elClass), explicitLittle, implicitLittle)
		if err != nil {
			return err
		}
		for _, keys := range list {
			if err := con.sendValues(id, cmd, identifier(level, keys)); err != nil {
				return err
			}
			one, err := con.sending(cmd.number(elField), keep)
			if o = o.add(one); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		err = o.partly()
	}
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
			return o, nil
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
