package dimse_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
	"linerwatch/dicomio/dimse"
	"linerwatch/dicomio/dimse/dimsetest"
)

// films writes films of a patient, a day each, and returns their paths.
func films(t *testing.T, n, size int) (paths []string) {
	t.Helper()
	dir := t.TempDir()
	for i := range n {
		img := image.NewGray16(image.Rect(0, 0, size, size))
		for j := range img.Pix {
			if j%2 == 1 {
				img.Pix[j] = byte(i + j)
			}
		}
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2",
			PatientCode: "P1", Date: time.Date(2012, 3, 1+i, 0, 0, 0, 0, time.UTC)}))
		paths = append(paths, path)
	}
	return paths
}

// archive serves an empty archive, and returns a client of it.
func archive(t *testing.T) (*dimsetest.Archive, *dimse.Client) {
	t.Helper()
	a := &dimsetest.Archive{Title: "ARCHIVE", Dir: t.TempDir()}
	address, err := a.Serve(t.Context())
	require.NoError(t, err)
	return a, clientOf(address)
}

func clientOf(address string) *dimse.Client {
	return &dimse.Client{Address: address, Called: "ARCHIVE", Calling: "LINERWATCH", Silence: 5 * time.Second,
		Classes: dimsetest.Classes, Syntaxes: dicomio.Readable()}
}

func stored(t *testing.T, c *dimse.Client, paths []string) {
	t.Helper()
	n := 0
	require.NoError(t, c.Store(t.Context(), paths, func(path string, err error) {
		require.NoError(t, err, path)
		n++
	}))
	require.Equal(t, len(paths), n)
}

func sum(t *testing.T, path string) [32]byte {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return sha256.Sum256(b)
}

func TestEcho(t *testing.T) {
	_, c := archive(t)
	require.NoError(t, c.Echo(t.Context()))
	c.Called = "OTHER"
	require.ErrorContains(t, c.Echo(t.Context()), "does not know itself by the title")
	c.Called = "a title that is too long"
	require.ErrorContains(t, c.Echo(t.Context()), "no title")
	c = clientOf("127.0.0.1:1")
	require.ErrorContains(t, c.Echo(t.Context()), "cannot be reached")
	require.ErrorContains(t, clientOf("host").Echo(t.Context()), "write it as host:104")
}

// What is stored is found, and comes back byte for byte on the same connection and on one
// of its own.
func TestStoreFindGetMove(t *testing.T) {
	a, c := archive(t)
	paths := films(t, 5, 300) // 180 kB: more than one data unit
	stored(t, c, paths)
	found, err := c.Find(t.Context(), "STUDY", dicomio.Values{0x00100020: "P1", 0x0020000D: "", 0x00080020: ""})
	require.NoError(t, err)
	require.Len(t, found, 5)
	none, err := c.Find(t.Context(), "STUDY", dicomio.Values{0x00100020: "P2", 0x0020000D: ""})
	require.NoError(t, err)
	require.Empty(t, none)
	_, err = c.Find(t.Context(), "NOWHERE", dicomio.Values{0x00100020: "P1"})
	require.ErrorContains(t, err, "C000: no such level")

	list := found[0][0x0020000D] + `\` + found[3][0x0020000D]
	got := map[[32]byte]bool{}
	keep := func(o dicomio.Object, r io.Reader) error {
		b, err := io.ReadAll(r)
		got[sha256.Sum256(b)] = true
		return err
	}
	o, err := c.Get(t.Context(), "STUDY", []dicomio.Values{{0x0020000D: list}}, keep)
	require.NoError(t, err)
	require.Equal(t, dimse.Outcome{Done: 2}, o)
	o, err = c.Get(t.Context(), "STUDY", []dicomio.Values{{0x0020000D: found[0][0x0020000D]}, {0x0020000D: found[3][0x0020000D]}}, keep)
	require.NoError(t, err)
	require.Equal(t, dimse.Outcome{Done: 2}, o, "one after the other")
	require.Equal(t, map[[32]byte]bool{sum(t, paths[0]): true, sum(t, paths[3]): true}, got)

	clear(got)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	a.Known = map[string]string{"LINERWATCH": l.Addr().String()}
	s := &dimse.Service{Title: "LINERWATCH", Store: keep, Classes: c.Classes, Syntaxes: c.Syntaxes}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() { ended <- s.Serve(ctx, l) }()
	o, err = c.Move(t.Context(), "STUDY", []dicomio.Values{{0x0020000D: list}}, "LINERWATCH")
	require.NoError(t, err)
	require.Equal(t, dimse.Outcome{Done: 2}, o)
	_, err = c.Move(t.Context(), "STUDY", []dicomio.Values{{0x0020000D: list}}, "NOBODY")
	require.ErrorContains(t, err, "has sent 0 of 2 objects")
	stop()
	require.NoError(t, <-ended)
	require.Equal(t, map[[32]byte]bool{sum(t, paths[0]): true, sum(t, paths[3]): true}, got)
}

// A film that the archive has lost is told as one that could not be sent.
func TestGetPartly(t *testing.T) {
	a, c := archive(t)
	stored(t, c, films(t, 2, 20))
	require.NoError(t, os.Remove(filepath.Join(a.Dir, "0001.dcm")))
	o, err := c.Get(t.Context(), "STUDY", []dicomio.Values{{0x00100020: "P1"}}, func(_ dicomio.Object, r io.Reader) error { return nil })
	require.ErrorContains(t, err, "has sent 1 of 2 objects")
	require.Equal(t, dimse.Outcome{Done: 1, Failed: 1}, o)
}

// What cannot be kept ends all, and so does a stop, at once.
func TestGetEnds(t *testing.T) {
	_, c := archive(t)
	stored(t, c, films(t, 3, 300))
	full := errors.New("disk full")
	_, err := c.Get(t.Context(), "STUDY", []dicomio.Values{{0x00100020: "P1"}}, func(dicomio.Object, io.Reader) error { return full })
	require.ErrorIs(t, err, full)
	ctx, stop := context.WithCancel(t.Context())
	begun := time.Now()
	_, err = c.Get(ctx, "STUDY", []dicomio.Values{{0x00100020: "P1"}}, func(_ dicomio.Object, r io.Reader) error {
		stop()
		_, err := io.Copy(io.Discard, r)
		return err
	})
	require.ErrorIs(t, err, context.Canceled)
	require.Less(t, time.Since(begun), time.Second)
}

func TestStoreTellsOfEach(t *testing.T) {
	_, c := archive(t)
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.dcm")
	require.NoError(t, os.WriteFile(bad, []byte("no film"), 0o600))
	odd := filepath.Join(dir, "odd.dcm") // of a class that the archive does not keep
	b, err := os.ReadFile(films(t, 1, 10)[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(odd, bytes.Replace(b, []byte("1.2.840.10008.5.1.4.1.1.1.1\x00"), []byte("1.2.840.10008.5.1.4.1.1.9.9\x00"), 1), 0o600))
	said := map[string]string{}
	require.NoError(t, c.Store(t.Context(), []string{bad, odd}, func(path string, err error) { said[filepath.Base(path)] = fmt.Sprint(err) }))
	require.Contains(t, said["bad.dcm"], "no DICOM file")
	require.Contains(t, said["odd.dcm"], "does not offer to keep objects of class 1.2.840.10008.5.1.4.1.1.9.9")
}

// answering serves one connection with what bytes are given, after it has read something.
func answering(t *testing.T, answers ...[]byte) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	go func() {
		c, err := l.Accept()
		if err != nil {
			return
		}
		defer c.Close()
		buf := make([]byte, 1<<16)
		for _, a := range answers {
			if _, err := c.Read(buf); err != nil {
				return
			}
			if _, err := c.Write(a); err != nil {
				return
			}
		}
		_, _ = io.Copy(io.Discard, c) // as long as the other side stays
	}()
	return l.Addr().String()
}

func pdu(kind byte, body ...byte) []byte {
	return append(binary.BigEndian.AppendUint32([]byte{kind, 0}, uint32(len(body))), body...)
}

// The head of a data unit of 4 GB, one of no kind, an abort, and other ends.
func TestBadAnswers(t *testing.T) {
	for want, answer := range map[string][]byte{
		"a data unit that is too long":           {2, 0, 0xFF, 0xFF, 0xFF, 0xFF},
		"an unknown data unit":                   pdu(9),
		"answers by TLS":                         {0x15, 3, 3, 0, 2, 2, 50},
		"an association without its head":        pdu(2, 1, 2, 3),
		"an item that is longer":                 pdu(2, append(make([]byte, 68), 0x21, 0, 0xFF, 0)...),
		"was not proposed":                       pdu(2, append(make([]byte, 68), 0x21, 0, 0, 4, 99, 0, 0, 0)...),
		"has to be entered there":                pdu(3, 0, 1, 1, 3),
		"too many connections":                   pdu(3, 0, 2, 3, 2),
		"result 2, source 2, reason 1":           pdu(3, 0, 2, 2, 1),
		"without a reason":                       pdu(3, 0),
		"has ended the connection: a data unit":  pdu(7, 0, 0, 2, 2),
		"has ended the connection":               pdu(7, 0, 0, 0, 0),
		"a data unit that is not due":            pdu(4),
		"has said nothing for 0 s":               nil,
		"does not offer the test of connections": pdu(2, make([]byte, 68)...),
	} {
		c := clientOf(answering(t, answer))
		c.Silence = 300 * time.Millisecond
		require.ErrorContains(t, c.Echo(t.Context()), want)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go func() {
		if c, err := l.Accept(); err == nil {
			c.Close()
		}
	}()
	require.ErrorContains(t, clientOf(l.Addr().String()).Echo(t.Context()), "has cut the connection")
	l.Close()
}

// A connection that is cut may want TLS only where nothing was said on it yet.
func TestCutAfterAnAnswer(t *testing.T) {
	for want, answers := range map[string][][]byte{
		"want TLS":               nil,
		"has cut the connection": {pdu(2, append(append(make([]byte, 68), 0x21, 0, 0, 25, 1, 0, 0, 0, 0x40, 0, 0, 17), "1.2.840.10008.1.2"...)...)},
	} {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		t.Cleanup(func() { l.Close() })
		go func() {
			c, err := l.Accept()
			if err != nil {
				return
			}
			buf := make([]byte, 1<<16)
			for _, a := range append(answers, nil) {
				if _, err := c.Read(buf); err != nil {
					break
				}
				if a != nil {
					_, _ = c.Write(a)
				}
			}
			_ = c.(*net.TCPConn).SetLinger(0) // a reset
			c.Close()
		}()
		err = clientOf(l.Addr().String()).Echo(t.Context())
		require.ErrorContains(t, err, want)
		require.Equal(t, want == "want TLS", strings.Contains(err.Error(), "TLS"))
	}
}

// pair makes a certificate that is its own authority.
func pair(t *testing.T) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	of := &x509.Certificate{SerialNumber: big.NewInt(1), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true,
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour)}
	der, err := x509.CreateCertificate(rand.Reader, of, of, &key.PublicKey, key)
	require.NoError(t, err)
	leaf, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(leaf)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, pool
}

// Both sides show certificates.
func TestTLS(t *testing.T) {
	cert, pool := pair(t)
	l, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{Certificates: []tls.Certificate{cert}, ClientCAs: pool, ClientAuth: tls.RequireAndVerifyClientCert})
	require.NoError(t, err)
	a := &dimsetest.Archive{Title: "ARCHIVE", Dir: t.TempDir()}
	a.On(t.Context(), l)
	c := clientOf(l.Addr().String())
	require.ErrorContains(t, c.Echo(t.Context()), "want TLS")
	c.TLS = &tls.Config{}
	require.ErrorContains(t, c.Echo(t.Context()), "certificate")
	c.TLS = &tls.Config{RootCAs: pool}
	require.ErrorContains(t, c.Echo(t.Context()), "certificate required")
	c.TLS.Certificates = []tls.Certificate{cert}
	require.NoError(t, c.Echo(t.Context()))
	stored(t, c, films(t, 1, 300))
	require.Equal(t, 1, a.Len())
}

func Example() {
	c := dimse.Client{Address: "archive.example", Called: "ARCHIVE", Calling: "LINERWATCH"}
	fmt.Println(c.Echo(context.Background()))
	// Output: "archive.example" is no address of an archive; write it as host:104
}
