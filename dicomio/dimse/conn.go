package dimse

import (
	"context"
	"errors"
	"io"
	"net"
	"os"
	"syscall"
	"time"

	"linerwatch/dicomio"
)

// conn is an association over a connection. It is used by one goroutine.
type conn struct {
	net.Conn
	ctx      context.Context
	silence  time.Duration
	stop     func() bool // no longer end the connection with ctx
	contexts map[byte]proposal
	longest  int    // bytes of a value that the other side takes
	buf      []byte // of the data unit that was read last
	waiting  []part // of it, and not asked for yet
	released bool   // the other side has asked for the end
	answered bool   // it has said something: it speaks as this side does
}

// watched ends the connection with ctx: a read or write that waits returns at once.
func watched(ctx context.Context, c net.Conn, silence time.Duration) *conn {
	out := &conn{Conn: c, ctx: ctx, silence: silence, buf: make([]byte, mostPDU)}
	out.stop = context.AfterFunc(ctx, func() { _ = c.SetDeadline(time.Unix(1, 0)) }) // one that is closed needs none
	return out
}

// due gives the other side time anew. A context that ends after this ends the wait.
func (c *conn) due() error {
	if err := c.SetDeadline(time.Now().Add(c.silence)); err != nil {
		return err
	}
	return c.ctx.Err()
}

// told is an error of the connection in words.
func (c *conn) told(err error) error {
	if !c.answered && errors.Is(err, io.EOF) {
		err = syscall.ECONNRESET // some end what they cannot follow in good order
	}
	if c.answered && (errors.Is(err, syscall.ECONNRESET) || errors.Is(err, syscall.EPIPE)) {
		err = io.EOF // TLS has nothing to do with it
	}
	return told(c.ctx, err, c.silence)
}

func told(ctx context.Context, err error, silence time.Duration) error {
	if _, ok := errors.AsType[*dicomio.Fault](err); ok {
		return err
	}
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case errors.Is(err, os.ErrDeadlineExceeded):
		return dicomio.Refused("dimse.silent", "the archive has said nothing for %d s", "Seconds", int(silence.Seconds()))
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return dicomio.Refused("dimse.cut", "the archive has cut the connection")
	case errors.Is(err, syscall.ECONNRESET), errors.Is(err, syscall.EPIPE):
		return dicomio.Refused("dimse.reset", "the archive has cut the connection before it said anything: it may be down or busy, or want TLS, or none")
	}
	return dicomio.Refused("dimse.fault", "the archive cannot be reached: %s", "Why", err)
}

// pdu reads the next data unit of one of the kinds that may come. Its body is there until
// the next is read.
func (c *conn) pdu(kinds ...byte) (kind byte, body []byte, err error) {
	if err := c.due(); err != nil {
		return 0, nil, c.told(err)
	}
	kind, body, err = readPDU(c.Conn, c.buf)
	if err != nil {
		return 0, nil, c.told(err)
	}
	c.answered = true
	for _, k := range kinds {
		if k == kind {
			return kind, body, nil
		}
	}
	if kind == abortPDU {
		return 0, nil, aborted(body)
	}
	return 0, nil, broken("a data unit that is not due")
}

// put writes.
func (c *conn) put(b []byte) error {
	if err := c.due(); err != nil {
		return c.told(err)
	}
	if _, err := c.Write(b); err != nil {
		return c.told(err)
	}
	return nil
}

// errReleased says that the other side has ended the association in good order.
var errReleased = dicomio.Refused("dimse.released", "the archive has ended the association early")

// next returns the next value.
func (c *conn) next() (part, error) {
	for len(c.waiting) == 0 {
		kind, body, err := c.pdu(dataTF, releaseRQ)
		switch {
		case err != nil:
			return part{}, err
		case kind == releaseRQ:
			c.released = true
			return part{}, errReleased
		}
		if c.waiting, err = parts(body); err != nil {
			return part{}, err
		}
	}
	p := c.waiting[0]
	c.waiting = c.waiting[1:]
	if _, ok := c.contexts[p.context]; !ok {
		return part{}, broken("a presentation context that was not agreed on")
	}
	return p, nil
}

// command reads the next command and the context that it is in.
func (c *conn) command() (id byte, cmd command, err error) {
	var all []byte
	for {
		p, err := c.next()
		switch {
		case err != nil:
			return 0, nil, err
		case !p.command || len(all) > 0 && p.context != id:
			return 0, nil, broken("data in the middle of a command")
		case len(all)+len(p.data) > mostCommand:
			return 0, nil, broken("a command that is too long")
		}
		id, all = p.context, append(all, p.data...)
		if p.last {
			cmd, err = parseCommand(all)
			return id, cmd, err
		}
	}
}

// data is the data set that follows a command, as a reader that ends with it.
func (c *conn) data(id byte) *dataset { return &dataset{c: c, id: id} }

// dataset reads a data set value by value.
type dataset struct {
	c    *conn
	id   byte
	rest []byte
	last bool
	err  error
}

// Read ends with io.EOF after the last value alone.
func (d *dataset) Read(b []byte) (int, error) {
	for len(d.rest) == 0 {
		switch {
		case d.err != nil:
			return 0, d.err
		case d.last:
			return 0, io.EOF
		}
		p, err := d.c.next()
		if err == nil && (p.command || p.context != d.id) {
			err = broken("a command in the middle of data")
		}
		if err != nil {
			d.err = err
			return 0, err
		}
		d.rest, d.last = p.data, p.last
	}
	n := copy(b, d.rest)
	d.rest = d.rest[n:]
	return n, nil
}

// values reads the data set of a message that is an identifier.
func (c *conn) values(id byte) (dicomio.Values, error) {
	b, err := io.ReadAll(io.LimitReader(c.data(id), mostKeys+1))
	switch {
	case err != nil:
		return nil, err
	case len(b) > mostKeys:
		return nil, broken("an answer that is too long")
	}
	return dicomio.ReadValues(b, c.contexts[id].syntax)
}

// send sends a command and, unless data is nil, its data set.
func (c *conn) send(id byte, cmd command, data io.Reader) error {
	if err := c.pieces(id, true, cmd.bytes()); err != nil || data == nil {
		return err
	}
	buf, ahead := make([]byte, c.longest), make([]byte, c.longest)
	n, err := io.ReadFull(data, buf)
	for err == nil { // one ahead, to know the last
		var m int
		m, err = io.ReadFull(data, ahead)
		if m == 0 {
			break
		}
		if err := c.put(appendPart(nil, part{context: id, data: buf[:n]})); err != nil {
			return err
		}
		buf, ahead, n = ahead, buf, m
	}
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return err
	}
	return c.put(appendPart(nil, part{context: id, last: true, data: buf[:n]}))
}

// pieces sends a whole in values that the other side takes.
func (c *conn) pieces(id byte, command bool, b []byte) error {
	for {
		n := min(len(b), c.longest)
		if err := c.put(appendPart(nil, part{id, command, n == len(b), b[:n]})); err != nil || n == len(b) {
			return err
		}
		b = b[n:]
	}
}

// sendValues sends a command with an identifier.
func (c *conn) sendValues(id byte, cmd command, v dicomio.Values) error {
	b, err := v.Bytes(c.contexts[id].syntax)
	if err != nil {
		return err
	}
	if err := c.pieces(id, true, cmd.bytes()); err != nil {
		return err
	}
	return c.pieces(id, false, b)
}

// agreed takes over what an association agreed on.
func (c *conn) agreed(contexts map[byte]proposal, longest uint32) {
	c.contexts, c.longest = contexts, mostPDU-6
	if longest != 0 {
		c.longest = int(min(longest, mostPDU)) - 6
	}
	c.longest -= c.longest % 2
}

// context returns the id of the accepted context of a class in one of the syntaxes, the
// first that there is.
func (c *conn) context(class string, syntaxes ...string) (id byte, err error) {
	for _, s := range syntaxes {
		for id, p := range c.contexts {
			if p.class == class && p.syntax == s {
				return id, nil
			}
		}
	}
	return 0, dicomio.Refused("dimse.not-offered", "the archive does not offer %s", "Service", service(class))
}

// end ends the association: in good order where all went well, else at once.
func (c *conn) end(err error) error {
	defer c.Close() // nothing more is written
	if err == nil {
		if err = c.put(appendPDU(nil, releaseRQ, make([]byte, 4))); err == nil {
			_, _, _ = c.pdu(releaseRP) // whether or not it answers, all is done
		}
		c.stop()
		return nil
	}
	c.stop()
	if c.SetDeadline(time.Now().Add(time.Second)) == nil {
		_, _ = c.Write(appendPDU(nil, abortPDU, []byte{0, 0, 0, 0})) // the fault is err
	}
	return err
}
