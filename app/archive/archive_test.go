package archive_test

import (
	"context"
	"fmt"
	"image"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/archive"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/dimse/dimsetest"
	"linerwatch/dicomio/web/webtest"
)

// films writes films of patient P1, a day each, and one of P2.
func films(t *testing.T, n int) (paths []string) {
	t.Helper()
	dir := t.TempDir()
	for i := range n + 1 {
		img := image.NewGray16(image.Rect(0, 0, 30, 20))
		img.Pix[1] = byte(i)
		f := &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2", PatientCode: "P1", Date: time.Date(2012, 3, 1+i, 0, 0, 0, 0, time.UTC)}
		if i == n {
			f.PatientCode = "P2"
		}
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, f))
		paths = append(paths, path)
	}
	return paths
}

// server is an archive for a test.
type server struct {
	set    archive.Settings
	broken func(on bool) // it is gone, as if killed, until it is on again
	len    func() int
}

// servers are an archive of each kind: DICOMweb, C-GET, C-MOVE.
func servers(t *testing.T) map[string]server {
	t.Helper()
	out := map[string]server{}
	w := &webtest.Archive{User: "ward", Password: "secret"}
	var off atomic.Bool
	s := httptest.NewServer(http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		if off.Load() {
			panic(http.ErrAbortHandler)
		}
		w.ServeHTTP(rw, r)
	}))
	t.Cleanup(s.Close)
	out["web"] = server{archive.Settings{Name: "web", Address: s.URL, User: "ward"}, func(on bool) { off.Store(!on) }, w.Len}
	for _, name := range []string{"get", "move"} {
		a := &dimsetest.Archive{Title: "ARCHIVE", Dir: t.TempDir()}
		ctx, stop := context.WithCancel(t.Context())
		t.Cleanup(func() { stop() })
		address, err := a.Serve(ctx)
		require.NoError(t, err)
		one := archive.Settings{Name: name, Address: address, Called: "ARCHIVE", Calling: "LINERWATCH"}
		if name == "move" {
			l, err := net.Listen("tcp", "127.0.0.1:0") // a port that is free
			require.NoError(t, err)
			one.Receive = l.Addr().String()
			require.NoError(t, l.Close())
			a.Known = map[string]string{"LINERWATCH": one.Receive}
		}
		out[name] = server{one, func(on bool) {
			if !on {
				stop()
				return
			}
			ctx, stop = context.WithCancel(t.Context())
			a.On(ctx, again(t, address))
		}, a.Len}
	}
	return out
}

// again listens where somebody has listened who is about to be gone.
func again(t *testing.T, address string) (l net.Listener) {
	t.Helper()
	require.Eventually(t, func() bool {
		var err error
		l, err = net.Listen("tcp", address)
		return err == nil
	}, 10*time.Second, time.Millisecond)
	return l
}

var secrets = archive.Secrets{Getenv: func(name string) string {
	return map[string]string{"LINERWATCH_PASSWORD_WEB": "secret"}[name]
}}

func open(t *testing.T, s server) *archive.Archive {
	t.Helper()
	a, err := archive.Open(t.Context(), s.set, secrets)
	require.NoError(t, err)
	return a
}

// What is sent is found, comes by its content's name, and is not fetched twice. An archive
// that is gone in the middle leaves what has come, and no half film.
func TestSendFindFetch(t *testing.T) {
	for name, s := range servers(t) {
		t.Run(name, func(t *testing.T) {
			a, ctx := open(t, s), t.Context()
			require.NoError(t, a.Ask(ctx))
			paths := films(t, 6)
			require.NoError(t, a.Send(ctx, paths, func(path string, err error) { require.NoError(t, err, path) }))
			require.Equal(t, 7, s.len())
			series, err := a.Series(ctx, "P1")
			require.NoError(t, err)
			require.Len(t, series, 6)
			require.Equal(t, "2012-03-01", series[0].Date.Format(time.DateOnly))
			require.Equal(t, "DX", series[0].Modality)
			require.True(t, series[0].MayBeFilms)

			dir := filepath.Join(t.TempDir(), "films")
			n := 0
			got, err := a.Fetch(ctx, dir, series, func(done, total int, film string) {
				require.Equal(t, done == 0, film == "")
				require.Equal(t, 6, total)
				if n = done; done == 2 {
					s.broken(false)
				}
			})
			require.Error(t, err)
			require.NotContains(t, study.Told(err), "P1")
			require.Equal(t, 2, n)
			require.Len(t, got, 6)
			require.Equal(t, []string{"", ""}, []string{got[0].Fault, got[1].Fault})
			require.NotEmpty(t, got[5].Fault)
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			require.Len(t, left, 2, "whole films alone")

			s.broken(true)
			got, err = a.Fetch(ctx, dir, series, nil)
			require.NoError(t, err)
			for i, f := range got {
				require.Equal(t, i < 2, f.Here, "%d: %s", i, f.Fault)
				want, err := os.ReadFile(paths[i])
				require.NoError(t, err)
				have, err := os.ReadFile(f.Path)
				require.NoError(t, err)
				require.Equal(t, want, have)
				film, err := dicomio.Open(f.Path)
				require.NoError(t, err)
				require.Equal(t, film.SHA256+".dcm", filepath.Base(f.Path))
			}
		})
	}
}

func TestStopIsAtOnce(t *testing.T) {
	for name, s := range servers(t) {
		t.Run(name, func(t *testing.T) {
			a := open(t, s)
			require.NoError(t, a.Send(t.Context(), films(t, 4), func(string, error) {}))
			series, err := a.Series(t.Context(), "P1")
			require.NoError(t, err)
			ctx, stop := context.WithCancel(t.Context())
			dir, begun := t.TempDir(), time.Now()
			_, err = a.Fetch(ctx, dir, series, func(done, _ int, _ string) {
				if done == 1 {
					stop()
				}
			})
			require.ErrorIs(t, err, context.Canceled)
			require.Less(t, time.Since(begun), 5*time.Second)
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			for _, e := range left {
				require.False(t, strings.HasPrefix(e.Name(), "."), "no half film")
			}
		})
	}
}

// A code with a wildcard would bring other people's films.
func TestPatientIsOne(t *testing.T) {
	a := open(t, servers(t)["web"])
	for _, bad := range []string{"", " ", "*", "P?", `P1\P2`, strings.Repeat("P", 65)} {
		_, err := a.Series(t.Context(), bad)
		require.ErrorContains(t, err, "archive.patient")
	}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = fmt.Fprint(w, `[{"00100020":{"vr":"LO","Value":["P2"]},"0020000D":{"vr":"UI","Value":["1.2"]}}]`)
	}))
	defer s.Close()
	a, err := archive.Open(t.Context(), archive.Settings{Name: "deaf", Address: s.URL}, secrets)
	require.NoError(t, err)
	_, err = a.Series(t.Context(), "P1")
	require.Equal(t, "the archive answers with another patient than was asked for; nothing is taken", study.Told(err))
}

// A CT is not looked into; an OT series is films where its images are of a film's class and
// none that a workstation has made.
func TestWhatMayBeFilms(t *testing.T) {
	ui := func(v string) string { return fmt.Sprintf(`{"vr":"UI","Value":[%q]}`, v) }
	asked := []string{}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = append(asked, r.URL.Path)
		switch r.URL.Path {
		case "/studies":
			_, _ = fmt.Fprintf(w, `[{"0020000D":%s,"00080061":{"vr":"CS","Value":["CT","SR"]}},{"0020000D":%s,"00080061":{"vr":"CS","Value":["OT","DX","CT"]},"00080020":{"vr":"DA","Value":["20120304"]}}]`, ui("1.1"), ui("1.2"))
		case "/studies/1.2/series":
			one := `{"0020000E":%s,"00080060":{"vr":"CS","Value":["%s"]}}`
			_, _ = fmt.Fprintf(w, "["+strings.Repeat(one+",", 4)+one+"]", ui("2.1"), "DX", ui("2.2"), "CT", ui("2.3"), "OT", ui("2.4"), "OT", ui("2.5"), "OT")
		case "/studies/1.2/series/2.3/instances":
			_, _ = fmt.Fprintf(w, `[{"00080018":%s,"00080016":%s}]`, ui("3.1"), ui("1.2.840.10008.5.1.4.1.1.7"))
		case "/studies/1.2/series/2.5/instances":
			_, _ = fmt.Fprintf(w, `[{"00080018":%s,"00080016":%s,"00080064":%s}]`, ui("3.3"), ui("1.2.840.10008.5.1.4.1.1.7"), ui("WSD"))
		default:
			_, _ = fmt.Fprintf(w, `[{"00080018":%s,"00080016":%s}]`, ui("3.2"), ui("1.2.840.10008.5.1.4.1.1.104.1"))
		}
	}))
	defer s.Close()
	a, err := archive.Open(t.Context(), archive.Settings{Name: "x", Address: s.URL}, secrets)
	require.NoError(t, err)
	series, err := a.Series(t.Context(), "P1")
	require.NoError(t, err)
	may := map[string]bool{}
	for _, s := range series {
		may[s.UID] = s.MayBeFilms
	}
	require.Equal(t, map[string]bool{"2.1": true, "2.2": false, "2.3": true, "2.4": false, "2.5": false}, may)
	require.NotContains(t, asked, "/studies/1.1/series")
}

func TestFilmFolder(t *testing.T) {
	require.Equal(t, filepath.Join("d", "cohort-films"), archive.FilmFolder(filepath.Join("d", "cohort.linerwatch")))
}

func Example() {
	s := archive.Settings{Name: "ward", Address: "host:104", Called: "ARCHIVE", Calling: "LINERWATCH"}
	fmt.Println(s.Web(), s.Check())
	// Output: false <nil>
}
