package dimse

import (
	"bytes"
	"io"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// aRequest is an association as this program asks for it.
func aRequest(t testing.TB) association {
	t.Helper()
	a, err := request("ARCHIVE", "LINERWATCH", each([]string{studyGet, "1.2.3"}, explicitLittle, implicitLittle), []string{"1.2.3"})
	require.NoError(t, err)
	return a
}

// What is written of an association is what is read of it.
func TestAssociationComesBack(t *testing.T) {
	a := aRequest(t)
	back, err := parseAssociation(a.bytes(associateRQ))
	require.NoError(t, err)
	require.Equal(t, a, back)
	many := make([]proposal, 129)
	_, err = request("A", "B", many, nil)
	require.ErrorContains(t, err, "128")
}

// A request of one context, byte by byte, after PS3.8 tables 9-11 to 9-18.
func TestRequestBytes(t *testing.T) {
	a, err := request("A", "B", []proposal{{class: "1.2", syntax: "1.3"}}, nil)
	require.NoError(t, err)
	b := a.bytes(associateRQ)
	require.Equal(t, []byte{0, 1, 0, 0}, b[:4])
	require.Equal(t, "A               B               ", string(b[4:36]))
	rest := b[68:]
	require.Equal(t, append([]byte{0x10, 0, 0, 21}, "1.2.840.10008.3.1.1.1"...), rest[:25])
	require.Equal(t, []byte("\x20\x00\x00\x12\x01\x00\x00\x00\x30\x00\x00\x031.2\x40\x00\x00\x031.3"), rest[25:47])
	require.Equal(t, byte(0x50), rest[47])
}

func FuzzPDU(f *testing.F) {
	a := aRequest(f)
	f.Add(appendPDU(nil, associateRQ, a.bytes(associateRQ)))
	f.Add(appendPDU(nil, associateAC, a.bytes(associateAC)))
	f.Add(appendPart(nil, part{context: 1, command: true, last: true, data: asking(cEcho, verification, 1, false).bytes()}))
	f.Add(appendPDU(nil, abortPDU, []byte{0, 0, 2, 1}))
	f.Fuzz(func(t *testing.T, b []byte) {
		_, body, err := readPDU(bytes.NewReader(b), make([]byte, mostPDU))
		if err != nil {
			return
		}
		if list, err := parts(body); err == nil {
			n := 0
			for _, p := range list {
				n += len(p.data) + 6
			}
			require.Equal(t, len(body), n, "nothing is passed over")
		}
		if a, err := parseAssociation(body); err == nil {
			_, err := parseAssociation(a.bytes(associateAC))
			require.NoError(t, err)
		}
		require.Error(t, rejection(body))
		require.Error(t, aborted(body))
	})
}

func FuzzCommand(f *testing.F) {
	c := asking(cFind, studyFind, 1, true)
	f.Add(c.bytes())
	f.Add(c.answering(statusDone, false).bytes())
	f.Add(c.counting(Outcome{1, 2, 3, 0}).bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := parseCommand(b)
		if err != nil {
			return
		}
		delete(c, 0) // its length, which is written anew
		back, err := parseCommand(c.bytes())
		require.NoError(t, err)
		delete(back, 0)
		require.Equal(t, len(c), len(back))
		require.Error(t, c.statusFault())
		c.outcome(Outcome{})
	})
}

// FuzzConversation answers a retrieval, and asks a service, with what it likes; whatever it
// is, both come to an end.
func FuzzConversation(f *testing.F) {
	a := aRequest(f)
	var good []byte
	good = appendPDU(good, associateAC, a.bytes(associateAC))
	store := asking(cStore, "1.2.3", 7, true)
	store.setUID(elInstance, "1.2.3.4")
	good = appendPart(good, part{context: 5, command: true, last: true, data: store.bytes()})
	good = appendPart(good, part{context: 5, last: true, data: []byte("\x08\x00\x05\x00CS\x02\x00  ")})
	get := asking(cGet, studyGet, 1, true)
	good = appendPart(good, part{context: 1, command: true, last: true, data: get.counting(Outcome{Done: 1}).bytes()})
	f.Add(good)
	ask := appendPDU(nil, associateRQ, a.bytes(associateRQ))
	ask = appendPart(ask, part{context: 5, command: true, last: true, data: store.bytes()})
	ask = appendPart(ask, part{context: 5, last: true, data: []byte("\x08\x00\x05\x00CS\x02\x00  ")})
	f.Add(append(ask, appendPDU(nil, releaseRQ, make([]byte, 4))...))
	keep := func(_ dicomio.Object, r io.Reader) error { _, err := io.Copy(io.Discard, r); return err }
	f.Fuzz(func(t *testing.T, b []byte) {
		c := watched(t.Context(), &canned{r: bytes.NewReader(b)}, time.Minute)
		if err := c.associate(a); err == nil {
			_, _ = c.sending(cGet, keep)
		}
		s := Service{Title: "ARCHIVE", Store: keep, Classes: []string{"1.2.3"}, Syntaxes: dicomio.Readable(),
			Find: func(string, dicomio.Values) ([]dicomio.Values, error) { return []dicomio.Values{{}}, nil },
			Get:  func(string, dicomio.Values) ([]string, error) { return nil, nil }}
		_ = s.one(watched(t.Context(), &canned{r: bytes.NewReader(b)}, time.Minute))
	})
}

// The good answers among the seeds are understood to their end.
func TestConversationSeed(t *testing.T) {
	a := aRequest(t)
	var good []byte
	good = appendPDU(good, associateAC, a.bytes(associateAC))
	get := asking(cGet, studyGet, 1, true)
	good = appendPart(good, part{context: 1, command: true, last: true, data: get.counting(Outcome{Done: 3}).bytes()})
	c := watched(t.Context(), &canned{r: bytes.NewReader(good)}, time.Minute)
	require.NoError(t, c.associate(a))
	o, err := c.sending(cGet, nil)
	require.NoError(t, err)
	require.Equal(t, 3, o.Done)
}

// canned is a connection of which everything that comes is known.
type canned struct {
	net.Conn
	r io.Reader
}

func (c *canned) Read(b []byte) (int, error)     { return c.r.Read(b) }
func (*canned) Write(b []byte) (int, error)      { return len(b), nil }
func (*canned) SetDeadline(time.Time) error      { return nil }
func (*canned) SetWriteDeadline(time.Time) error { return nil }
func (*canned) Close() error                     { return nil }
