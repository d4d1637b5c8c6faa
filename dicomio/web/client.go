package web

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"linerwatch/dicomio"
)

// Options say how an archive is asked. The zero value asks without a user, with the
// system's certificates.
type Options struct {
	User, Password string      // for basic authentication (RFC 7617); no User, none
	TLS            *tls.Config // for https
	Silence        time.Duration
}

// silence is how long an archive may say nothing where Options do not tell: it may have
// to fetch a film from tape.
const silence = time.Minute

// Client asks one archive. It may be used by several goroutines.
type Client struct {
	root *url.URL
	opt  Options
	http *http.Client
}

// New returns the client of the archive whose paths begin at root, as
// https://host/dicom-web.
func New(root string, opt Options) (*Client, error) {
	u, err := url.Parse(root)
	switch {
	case err != nil, u.Scheme != "http" && u.Scheme != "https", u.Host == "", u.RawQuery != "", u.Fragment != "":
		return nil, dicomio.Refused("web.root", "%q is no address of an archive; write it as https://host/dicom-web", "Root", root)
	case u.User != nil:
		return nil, dicomio.Refused("web.root-user", "an address holds no user and no password")
	}
	if opt.Silence <= 0 {
		opt.Silence = silence
	}
	dial := &net.Dialer{Timeout: min(opt.Silence, 15*time.Second)}
	c := &Client{root: u, opt: opt}
	c.http = &http.Client{
		Transport: &http.Transport{
			Proxy: http.ProxyFromEnvironment, DialContext: dial.DialContext, TLSClientConfig: opt.TLS,
			TLSHandshakeTimeout: dial.Timeout, IdleConnTimeout: time.Minute, ForceAttemptHTTP2: true,
			DisableCompression: true, // an archive that compresses films is slow
		},
		CheckRedirect: c.redirect,
	}
	return c, nil
}

// redirect follows an archive on its own host alone.
func (c *Client) redirect(to *http.Request, via []*http.Request) error {
	if to.URL.Host != c.root.Host || to.URL.Scheme != c.root.Scheme {
		return dicomio.Refused("web.redirect", "the archive leads on to another host, %s; that is not followed", "Host", to.URL.Scheme+"://"+to.URL.Host)
	}
	if len(via) >= 5 {
		return dicomio.Refused("web.redirects", "the archive leads on and on")
	}
	return nil
}

// Close lets go of idle connections.
func (c *Client) Close() { c.http.CloseIdleConnections() }

// send sends a request. The body of the answer is of whoever is handed it, and fails where
// the archive is silent for too long.
func (c *Client) send(ctx context.Context, req *http.Request) (*http.Response, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	watch := time.AfterFunc(c.opt.Silence, func() {
		cancel(dicomio.Refused("web.silent", "the archive has said nothing for %d s", "Seconds", int(c.opt.Silence.Seconds())))
	})
	if c.opt.User != "" {
		req.SetBasicAuth(c.opt.User, c.opt.Password)
	}
	b := &body{ctx: ctx, cancel: cancel, watch: watch, silence: c.opt.Silence}
	if req.Body != nil {
		req.Body = &sent{req.Body, b}
	}
	resp, err := c.http.Do(req.WithContext(ctx))
	if err != nil {
		err = b.told(err)
		b.end()
		return nil, err
	}
	b.ReadCloser = resp.Body
	resp.Body = b
	return resp, nil
}

// body is read from an archive that may fall silent.
type body struct {
	io.ReadCloser
	ctx     context.Context
	cancel  context.CancelCauseFunc
	watch   *time.Timer
	silence time.Duration
}

// Read gives the archive time anew.
func (b *body) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	if err == nil {
		b.watch.Reset(b.silence)
	} else if err != io.EOF {
		err = b.told(err)
	}
	return n, err
}

// Close ends the watch.
func (b *body) Close() error {
	err := b.ReadCloser.Close()
	b.end()
	return err
}

func (b *body) end() {
	b.watch.Stop()
	b.cancel(nil)
}

// told is why a request failed, without its address, in which a patient may be named.
func (b *body) told(err error) error {
	if b.ctx.Err() != nil {
		return context.Cause(b.ctx)
	}
	if u, ok := errors.AsType[*url.Error](err); ok {
		err = u.Err
	}
	if f, ok := errors.AsType[*dicomio.Fault](err); ok {
		return f
	}
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return errBroken
	}
	return dicomio.Refused("web.fault", "the archive cannot be reached: %s", "Why", err)
}

// errBroken is the error of an answer that is not all there.
var errBroken = dicomio.Refused("web.broken", "the answer of the archive broke off")

// sent is what is sent, which keeps the watch waiting.
type sent struct {
	io.ReadCloser
	b *body
}

func (s *sent) Read(p []byte) (int, error) {
	s.b.watch.Reset(s.b.silence)
	return s.ReadCloser.Read(p)
}

// refusal is what an answer says that is not what was asked for.
func refusal(resp *http.Response) error {
	switch resp.StatusCode {
	case http.StatusUnauthorized:
		return dicomio.Refused("web.unauthorized", "the archive does not take this user and password")
	case http.StatusForbidden:
		return dicomio.Refused("web.forbidden", "the archive does not allow this to the user")
	case http.StatusNotFound:
		if strings.HasSuffix(resp.Request.URL.Path, "/studies") { // where every archive is asked
			return dicomio.Refused("web.no-archive", "there is no archive at this address; is it that of its DICOMweb?")
		}
		return dicomio.Refused("web.not-found", "the archive has nothing of that name")
	}
	said, _ := io.ReadAll(io.LimitReader(resp.Body, 200)) // it may say why, or not
	why := strings.Join(strings.Fields(strings.ToValidUTF8(string(said), "?")), " ")
	if why == "" || strings.HasPrefix(why, "<") {
		return dicomio.Refused("web.status", "the archive answers %s", "Status", resp.Status)
	}
	return dicomio.Refused("web.status-why", "the archive answers %s: %s", "Status", resp.Status, "Why", why)
}

// at is a path below the root.
func (c *Client) at(parts ...string) *url.URL { return c.root.JoinPath(parts...) }

// isUID reports whether s may stand in a path as a UID (PS3.5 section 9.1).
func isUID(s string) bool {
	return s != "" && len(s) <= 64 && strings.Trim(s, "0123456789.") == "" && s[0] != '.' && !strings.Contains(s, "..")
}
