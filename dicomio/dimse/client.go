package dimse

import (
	"cmp"
	"context"
	"crypto/tls"
	"net"
	"time"

	"linerwatch/dicomio"
)

// Client asks one archive, on a connection of its own for each call.
type Client struct {
	Address         string        // host:port
	Called, Calling string        // application entity titles, of the archive and of this program
	TLS             *tls.Config   // nil is none
	Silence         time.Duration // how long the archive may say nothing; 0 is a minute

	// Classes and Syntaxes are what Get and Move take: SOP classes and transfer syntaxes.
	Classes, Syntaxes []string
}

func (c *Client) silence() time.Duration { return cmp.Or(c.Silence, time.Minute) }

// Check refuses an address or titles that cannot be (PS3.5 section 6.2, AE).
func (c *Client) Check() error {
	if _, port, err := net.SplitHostPort(c.Address); err != nil || port == "" {
		return dicomio.Refused("dimse.address", "%q is no address of an archive; write it as host:104", "Address", c.Address)
	}
	for _, t := range []string{c.Called, c.Calling} {
		if err := CheckTitle(t); err != nil {
			return err
		}
	}
	return nil
}

// CheckTitle refuses what is no application entity title.
func CheckTitle(t string) error {
	for _, r := range t {
		if r < ' ' || r > '~' || r == '\\' {
			return dicomio.Refused("dimse.title", "%q is no title of a DICOM application: 1 to 16 letters, digits and signs", "Title", t)
		}
	}
	if text([]byte(t)) == "" || len(t) > 16 {
		return dicomio.Refused("dimse.title", "%q is no title of a DICOM application: 1 to 16 letters, digits and signs", "Title", t)
	}
	return nil
}

// with does work on an association that proposes a list of contexts.
func (c *Client) with(ctx context.Context, list []proposal, back []string, work func(*conn) error) error {
	if err := c.Check(); err != nil {
		return err
	}
	a, err := request(c.Called, c.Calling, list, back)
	if err != nil {
		return err
	}
	con, err := c.dial(ctx)
	if err != nil {
		return err
	}
	if err := con.associate(a); err != nil {
		return con.end(err)
	}
	return con.end(work(con))
}

// dial connects.
func (c *Client) dial(ctx context.Context) (*conn, error) {
	d := net.Dialer{Timeout: min(c.silence(), 15*time.Second)}
	raw, err := d.DialContext(ctx, "tcp", c.Address)
	if err != nil {
		return nil, told(ctx, err, d.Timeout)
	}
	if c.TLS != nil {
		cfg := c.TLS.Clone()
		if cfg.ServerName == "" {
			cfg.ServerName, _, _ = net.SplitHostPort(c.Address)
		}
		secure := tls.Client(raw, cfg)
		within, cancel := context.WithTimeout(ctx, d.Timeout)
		defer cancel()
		if err := secure.HandshakeContext(within); err != nil {
			raw.Close() // nothing was said
			return nil, told(ctx, err, d.Timeout)
		}
		raw = secure
	}
	return watched(ctx, raw, c.silence()), nil
}

// associate asks for an association and takes over what is agreed on.
func (c *conn) associate(a association) error {
	if err := c.put(appendPDU(nil, associateRQ, a.bytes(associateRQ))); err != nil {
		return err
	}
	kind, body, err := c.pdu(associateAC, associateRJ)
	switch {
	case err != nil:
		return err
	case kind == associateRJ:
		return rejection(body)
	}
	answer, err := parseAssociation(body)
	if err != nil {
		return err
	}
	agreed := map[byte]proposal{}
	for id, p := range answer.contexts {
		asked, ok := a.contexts[id]
		if !ok {
			return broken("a presentation context that was not proposed")
		}
		if p.result == 0 && p.syntax == asked.syntax {
			agreed[id] = proposal{class: asked.class, syntax: asked.syntax}
		}
	}
	c.agreed(agreed, answer.longest)
	return nil
}

// each proposes every class with every syntax.
func each(classes []string, syntaxes ...string) (out []proposal) {
	for _, class := range classes {
		for _, s := range syntaxes {
			out = append(out, proposal{class: class, syntax: s})
		}
	}
	return out
}

// Echo asks whether the archive is there and takes the titles (PS3.7 section 9.1.5).
func (c *Client) Echo(ctx context.Context) error {
	return c.with(ctx, each([]string{verification}, implicitLittle), nil, func(con *conn) error {
		id, err := con.context(verification, implicitLittle)
		if err != nil {
			return err
		}
		if err := con.send(id, asking(cEcho, verification, 1, false), nil); err != nil {
			return err
		}
		_, answer, err := con.answer(cEcho)
		if err == nil && answer.number(elStatus) != statusDone {
			err = answer.statusFault()
		}
		return err
	})
}

// answer reads the response to the only message that is out.
func (c *conn) answer(field uint16) (id byte, cmd command, err error) {
	id, cmd, err = c.command()
	switch {
	case err != nil:
		return 0, nil, err
	case !cmd.is(field | response):
		return 0, nil, broken("a message that is not due")
	case cmd.number(elResponds) != 1:
		return 0, nil, broken("an answer to what was not asked")
	}
	return id, cmd, nil
}
