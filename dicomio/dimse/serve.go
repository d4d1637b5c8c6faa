package dimse

import (
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"net"
	"slices"
	"sync"
	"time"

	"linerwatch/dicomio"
)

// Service is what an acceptor does for those who connect to it: what a nil function is for
// is not offered.
type Service struct {
	Title   string        // its own; associations that call another are rejected
	Silence time.Duration // how long who has connected may say nothing

	// Store keeps objects of Classes in Syntaxes.
	Store             Kept
	Classes, Syntaxes []string
	// Find answers a search.
	Find func(level string, keys dicomio.Values) ([]dicomio.Values, error)
	// Get names the files of what is to be sent.
	Get func(level string, keys dicomio.Values) (paths []string, err error)
	// Move sends files to another acceptor, and returns how many it could not.
	Move func(ctx context.Context, title string, paths []string) (failed int)
}

// Serve accepts associations until ctx is done, then waits for those that there are to
// end. Faults of single associations end those alone.
func (s *Service) Serve(ctx context.Context, l net.Listener) error {
	stop := context.AfterFunc(ctx, func() { l.Close() })
	defer stop()
	var all sync.WaitGroup
	defer all.Wait()
	for {
		raw, err := l.Accept()
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return err
		}
		all.Go(func() {
			c := watched(ctx, raw, cmp.Or(s.Silence, time.Minute))
			err := s.one(c)
			c.stop()
			if err != nil && !errors.Is(err, errReleased) {
				_ = c.end(err) // aborts; there is nobody to tell
			}
			c.Close()
		})
	}
}

// one serves one association as far as its release.
func (s *Service) one(c *conn) error {
	_, body, err := c.pdu(associateRQ)
	if err != nil {
		return err
	}
	a, err := parseAssociation(body)
	if err != nil {
		return err
	}
	if a.called != s.Title {
		return c.put(appendPDU(nil, associateRJ, []byte{0, 1, 1, 7}))
	}
	answer, agreed := s.accept(a)
	if err := c.put(appendPDU(nil, associateAC, answer.bytes(associateAC))); err != nil {
		return err
	}
	c.agreed(agreed, a.longest)
	for {
		id, cmd, err := c.command()
		switch {
		case errors.Is(err, errReleased):
			return c.put(appendPDU(nil, releaseRP, make([]byte, 4)))
		case err != nil:
			return err
		}
		if err := s.serve(c, id, cmd); err != nil {
			return err
		}
	}
}

// accept chooses of what is proposed: the first syntax of each context that is taken.
func (s *Service) accept(a association) (answer association, agreed map[byte]proposal) {
	answer, agreed = association{called: a.called, calling: a.calling, contexts: map[byte]proposal{}, longest: mostPDU, roles: a.roles}, map[byte]proposal{}
	for id, p := range a.contexts {
		chosen := proposal{class: p.class, syntax: p.syntax, result: 4} // no syntax is taken
		for _, syntax := range append([]string{p.syntax}, p.others...) {
			if s.offers(p.class, syntax) {
				chosen.syntax, chosen.result = syntax, 0
				agreed[id] = chosen
				break
			}
		}
		answer.contexts[id] = chosen
	}
	return answer, agreed
}

func (s *Service) offers(class, syntax string) bool {
	plain := syntax == implicitLittle || syntax == explicitLittle
	switch class {
	case verification:
		return plain
	case studyFind:
		return plain && s.Find != nil
	case studyGet:
		return plain && s.Get != nil
	case studyMove:
		return plain && s.Move != nil
	}
	return (s.Store != nil || s.Get != nil) && slices.Contains(s.Classes, class) && slices.Contains(s.Syntaxes, syntax)
}

// serve answers one message.
func (s *Service) serve(c *conn, id byte, cmd command) error {
	switch {
	case cmd.is(cEcho):
		return c.send(id, cmd.answering(statusDone, false), nil)
	case cmd.is(cStore) && s.Store != nil:
		return c.takes(id, cmd, s.Store)
	case cmd.is(cFind) && s.Find != nil:
		return s.find(c, id, cmd)
	case cmd.is(cGet) && s.Get != nil, cmd.is(cMove) && s.Move != nil:
		return s.send(c, id, cmd)
	case cmd.is(cCancel):
		return nil // too late
	}
	return broken("a message that is not due")
}

// find answers a search.
func (s *Service) find(c *conn, id byte, cmd command) error {
	keys, err := c.values(id)
	if err != nil {
		return err
	}
	list, err := s.Find(keys[levelTag], keys)
	if err != nil {
		return c.send(id, cmd.failing(err), nil)
	}
	for _, v := range list {
		if err := c.sendValues(id, cmd.answering(0xFF00, true), v); err != nil {
			return err
		}
	}
	return c.send(id, cmd.answering(statusDone, false), nil)
}

// failing is the answer that says why nothing is done.
func (c command) failing(err error) command {
	a := c.answering(statusUnable, false)
	a.setText(elComment, err.Error()[:min(64, len(err.Error()))], ' ')
	return a
}

// send sends what is asked for, on this connection or to another acceptor.
func (s *Service) send(c *conn, id byte, cmd command) error {
	keys, err := c.values(id)
	if err != nil {
		return err
	}
	paths, err := s.Get(keys[levelTag], keys)
	if err != nil {
		return c.send(id, cmd.failing(err), nil)
	}
	o := Outcome{}
	if cmd.is(cMove) {
		o.Failed = s.Move(c.ctx, cmd.text(elMoveTo), paths)
		o.Done = len(paths) - o.Failed
		return c.send(id, cmd.counting(o), nil)
	}
	for _, p := range paths {
		refused, err := c.storeOn(p)
		switch {
		case err != nil:
			return err
		case refused != nil:
			o.Failed++
		default:
			o.Done++
		}
	}
	return c.send(id, cmd.counting(o), nil)
}

// storeOn sends the object in a file.
func (c *conn) storeOn(path string) (refused, err error) {
	o, _, err := dicomio.ObjectOf(path)
	if err != nil {
		return err, nil
	}
	return c.store(path, o)
}

// counting is the last answer to a retrieval.
func (c command) counting(o Outcome) command {
	status := uint16(statusDone)
	if o.Failed > 0 {
		status = statusPartly
	}
	a := c.answering(status, false)
	for e, n := range map[uint16]int{elCompleted: o.Done, elFailed: o.Failed, elWarned: o.Warned} {
		a[e] = binary.LittleEndian.AppendUint16(nil, uint16(n))
	}
	return a
}
