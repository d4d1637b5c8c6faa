package web_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"image"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
	"linerwatch/dicomio/web"
	"linerwatch/dicomio/web/webtest"
)

// films writes small films of a patient, a day each, and returns their paths.
func films(t *testing.T, n int) (paths []string) {
	t.Helper()
	dir := t.TempDir()
	for i := range n {
		img := image.NewGray16(image.Rect(0, 0, 30, 20))
		img.Pix[1] = byte(i)
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2",
			PatientCode: "P1", Date: time.Date(2012, 3, 1+i, 0, 0, 0, 0, time.UTC)}))
		paths = append(paths, path)
	}
	return paths
}

// client asks a server.
func client(t *testing.T, h http.Handler, opt web.Options) *web.Client {
	t.Helper()
	s := httptest.NewServer(h)
	t.Cleanup(s.Close)
	c, err := web.New(s.URL, opt)
	require.NoError(t, err)
	t.Cleanup(c.Close)
	return c
}

var keys = dicomio.Values{0x00100020: "P1", 0x0020000D: "", 0x00080020: ""}

func TestFindRetrieveStore(t *testing.T) {
	a := &webtest.Archive{User: "ward", Password: "pass:wörd"}
	c := client(t, a, web.Options{User: "ward", Password: "pass:wörd"})
	ctx := t.Context()
	none, err := c.Find(ctx, "STUDY", keys)
	require.NoError(t, err)
	require.Empty(t, none, "204 is nothing found")
	paths := films(t, 3)
	for _, p := range paths {
		require.NoError(t, c.Store(ctx, p))
	}
	found, err := c.Find(ctx, "STUDY", keys)
	require.NoError(t, err)
	require.Len(t, found, 3)
	for i, v := range found {
		series, err := c.Find(ctx, "SERIES", dicomio.Values{0x0020000D: v[0x0020000D], 0x0020000E: ""})
		require.NoError(t, err)
		require.Len(t, series, 1)
		list, err := c.Find(ctx, "IMAGE", dicomio.Values{0x0020000D: v[0x0020000D], 0x0020000E: series[0][0x0020000E]})
		require.NoError(t, err)
		require.Len(t, list, 1)
		var got []byte
		require.NoError(t, c.Retrieve(ctx, v[0x0020000D], series[0][0x0020000E], list[0][0x00080018], func(r io.Reader) (err error) {
			got, err = io.ReadAll(r)
			return err
		}))
		want, err := os.ReadFile(paths[i])
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	_, err = client(t, a, web.Options{User: "ward", Password: "other"}).Find(ctx, "STUDY", keys)
	require.ErrorContains(t, err, "does not take this user and password")
	err = c.Retrieve(ctx, "1.2", "1.3", "1.4", func(io.Reader) error { return nil })
	require.ErrorContains(t, err, "nothing of that name")
	_, err = client(t, http.NotFoundHandler(), web.Options{}).Find(ctx, "STUDY", keys)
	require.EqualError(t, err, "there is no archive at this address; is it that of its DICOMweb?")
}

// More answers than fit a page; and an archive that passes over the offset.
func TestFindPages(t *testing.T) {
	set := func(i int) string {
		return fmt.Sprintf(`{"0020000D":{"vr":"UI","Value":["1.%d"]},"00201209":{"vr":"IS","Value":[%d]},"00080060":{"vr":"CS","Value":[null]},`+
			`"00100010":{"vr":"PN","Value":[{"Alphabetic":"A^B"}]},"00081190":{"vr":"UR","Value":["http://inner/"]},"x":{"vr":"UN"}}`, i, i)
	}
	for name, deaf := range map[string]bool{"pages": false, "deaf": true} {
		asked := 0
		c := client(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			asked++
			from, n := 0, 500
			if r.URL.Query().Get("offset") != "0" && !deaf {
				from, n = 500, 20
			}
			var list []string
			for i := range n {
				list = append(list, set(from+i))
			}
			_, _ = fmt.Fprintf(w, "[%s]", strings.Join(list, ","))
		}), web.Options{})
		found, err := c.Find(t.Context(), "STUDY", keys)
		require.NoError(t, err)
		require.Equal(t, 2, asked, name)
		require.Len(t, found, map[bool]int{false: 520, true: 500}[deaf], name)
		require.Equal(t, "17", found[17][0x00201209], "a number is as good as a string")
		require.Equal(t, "A^B", found[0][0x00100010])
		require.Empty(t, found[0][0x00080060])
	}
}

func TestStarStaysAStar(t *testing.T) {
	var raw string
	c := client(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { raw = r.URL.RawQuery; w.WriteHeader(204) }), web.Options{})
	_, err := c.Find(t.Context(), "STUDY", dicomio.Values{0x00100020: "P*&1"})
	require.NoError(t, err)
	require.Contains(t, raw, "00100020=P*%261")
}

// Answers to a search that are none are told in one line, which never names the patient.
func TestFindFaults(t *testing.T) {
	for want, h := range map[string]http.HandlerFunc{
		"does not answer in DICOM JSON": func(w http.ResponseWriter, _ *http.Request) { _, _ = fmt.Fprint(w, "<html>") },
		"500 Internal Server Error: out of tape": func(w http.ResponseWriter, _ *http.Request) {
			http.Error(w, "out of\ntape", 500)
		},
		"does not allow": func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(403) },
		"another host": func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "http://other.example/studies", http.StatusFound)
		},
		"on and on": func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, r.URL.Path, http.StatusFound) },
		"broke off": func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "100")
			_, _ = fmt.Fprint(w, "[")
		},
		"said nothing": func(w http.ResponseWriter, r *http.Request) {
			w.(http.Flusher).Flush()
			<-r.Context().Done()
		},
	} {
		_, err := client(t, h, web.Options{Silence: 300 * time.Millisecond}).Find(t.Context(), "STUDY", keys)
		require.ErrorContains(t, err, want)
		require.NotContains(t, err.Error(), "P1")
		require.NotContains(t, err.Error(), "\n")
	}
	c, err := web.New("http://127.0.0.1:1/", web.Options{User: "u", Password: "secret"})
	require.NoError(t, err)
	_, err = c.Find(t.Context(), "STUDY", keys)
	require.ErrorContains(t, err, "cannot be reached")
	require.NotContains(t, err.Error(), "P1")
	for _, bad := range []string{"", "host", "ftp://host", "http://u:p@host/", "http://host/?a=b"} {
		_, err := web.New(bad, web.Options{})
		require.Error(t, err, bad)
	}
	_, err = c.Find(t.Context(), "SERIES", dicomio.Values{0x0020000D: "../../1"})
	require.ErrorContains(t, err, "no UID")
}

// What follows the head of an answer that brings an instance, and whether it is whole.
func TestRetrieveForms(t *testing.T) {
	const related = "multipart/related; "
	for _, c := range []struct{ name, kind, body, fault string }{
		{"quoted", related + `type="application/dicom"; boundary="b"`, "--b\r\nContent-Type: application/dicom\r\n\r\nFILM\r\n--b--\r\n", ""},
		{"bare", related + "type=application/dicom; boundary=b", "--b\r\n\r\nFILM\r\n--b--", ""},
		{"slash", related + "boundary=a/b; type=application/dicom", "--a/b\r\n\r\nFILM\r\n--a/b--", ""},
		{"escaped", related + `start="<x;boundary=no>"; BOUNDARY="a\"b"`, "--a\"b\r\n\r\nFILM\r\n--a\"b--", ""},
		{"line feeds", related + "boundary=b", "--b\n\nFILM\n--b--\n", ""},
		{"preamble", related + "boundary=b", "a preamble\r\n--b\r\n\r\nFILM\r\n--b--", ""},
		{"quoted-printable is left", related + "boundary=b", "--b\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\nFI=4CM\r\n--b--", "FI=4CM"},
		{"plain", "application/dicom", "FILM", ""},
		{"no closing boundary", related + "boundary=b", "--b\r\n\r\nFILM\r\n", "broke off"},
		{"cut boundary", related + "boundary=b", "--b\r\n\r\nFILM\r\n--b", "broke off"},
		{"two", related + "boundary=b", "--b\r\n\r\nFILM\r\n--b\r\n\r\nFILM\r\n--b--", "more than the film"},
		{"none", related + "boundary=b", "--b--\r\n", "broke off"},
		{"no boundary", related + "type=application/dicom", "FILM", "in place of a film"},
		{"a page", "text/html", "<html>", "in place of a film"},
	} {
		t.Run(c.name, func(t *testing.T) {
			client := client(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				require.Contains(t, r.Header.Get("Accept"), "transfer-syntax=*")
				require.NotContains(t, r.Header.Get("Accept-Encoding"), "gzip")
				w.Header().Set("Content-Type", c.kind)
				_, _ = fmt.Fprint(w, c.body)
			}), web.Options{})
			got := ""
			err := client.Retrieve(t.Context(), "1.2", "1.3", "1.4", func(r io.Reader) error {
				b, err := io.ReadAll(r)
				got = string(b)
				return err
			})
			switch {
			case strings.HasPrefix(c.fault, "FI"):
				require.NoError(t, err)
				require.Equal(t, c.fault, got)
			case c.fault != "":
				require.ErrorContains(t, err, c.fault)
			default:
				require.NoError(t, err)
				require.Equal(t, "FILM", got)
			}
		})
	}
}

// A film that ends before its length, and one stopped in the middle.
func TestRetrieveBreaks(t *testing.T) {
	begun := make(chan struct{}, 1)
	c := client(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/dicom")
		if strings.HasSuffix(r.URL.Path, "1") {
			w.Header().Set("Content-Length", "1000")
			_, _ = fmt.Fprint(w, "FILM")
			return
		}
		_, _ = fmt.Fprint(w, "FILM")
		w.(http.Flusher).Flush()
		begun <- struct{}{}
		<-r.Context().Done()
	}), web.Options{})
	all := func(r io.Reader) error { _, err := io.Copy(io.Discard, r); return err }
	require.ErrorContains(t, c.Retrieve(t.Context(), "1", "1", "1", all), "broke off")
	ctx, stop := context.WithCancel(t.Context())
	go func() { <-begun; stop() }()
	require.ErrorIs(t, c.Retrieve(ctx, "1", "1", "2", all), context.Canceled)
}

// A store is judged by the instance, not by the status (PS3.18 section 10.5.3).
func TestStoreIsJudgedByInstance(t *testing.T) {
	path := films(t, 1)[0]
	o, _, err := dicomio.ObjectOf(path)
	require.NoError(t, err)
	item := func(uid, reason string) string {
		return fmt.Sprintf(`{"vr":"SQ","Value":[{"00081155":{"vr":"UI","Value":["%s"]}%s}]}`, uid, reason)
	}
	for _, c := range []struct {
		name         string
		status       int
		answer, want string
	}{
		{"stored", 200, `{"00081199":` + item(o.Instance, "") + `}`, ""},
		{"stored beside one that was not", 400, `{"00081199":` + item(o.Instance, "") + `}`, ""},
		{"another stored", 200, `{"00081199":` + item("1.2.3", "") + `}`, "does not say"},
		{"failed", 409, `{"00081198":` + item(o.Instance, `,"00081197":{"vr":"US","Value":[49442]}`) + `}`, "reason C122"},
		{"untold", 200, ``, "does not say"},
		{"unsaid", 202, `{}`, "does not say"},
		{"refused", 503, `busy`, "503 Service Unavailable: busy"},
	} {
		t.Run(c.name, func(t *testing.T) {
			client := client(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				n, err := io.Copy(io.Discard, r.Body)
				require.NoError(t, err)
				require.Equal(t, r.ContentLength, n)
				w.WriteHeader(c.status)
				_, _ = fmt.Fprint(w, c.answer)
			}), web.Options{})
			if err := client.Store(t.Context(), path); c.want == "" {
				require.NoError(t, err)
			} else {
				require.ErrorContains(t, err, c.want)
			}
		})
	}
}

func TestTLS(t *testing.T) {
	s := httptest.NewTLSServer(&webtest.Archive{})
	defer s.Close()
	c, err := web.New(s.URL, web.Options{})
	require.NoError(t, err)
	_, err = c.Find(t.Context(), "STUDY", keys)
	require.ErrorContains(t, err, "certificate")
	known := x509.NewCertPool()
	known.AddCert(s.Certificate())
	c, err = web.New(s.URL, web.Options{TLS: &tls.Config{RootCAs: known}})
	require.NoError(t, err)
	defer c.Close()
	_, err = c.Find(t.Context(), "STUDY", keys)
	require.NoError(t, err)
}

func Example() {
	s := httptest.NewServer(&webtest.Archive{})
	defer s.Close()
	c, err := web.New(s.URL, web.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	found, err := c.Find(context.Background(), "STUDY", dicomio.Values{0x00100020: "P1", 0x0020000D: ""})
	fmt.Println(len(found), err)
	// Output: 0 <nil>
}
