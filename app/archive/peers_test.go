package archive_test

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/archive"
	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
)

// orthanc is Debian's Orthanc, an archive of its own make, on the loopback.
type orthanc struct {
	t      *testing.T
	config string
	cmd    *exec.Cmd
}

// The ports are those of a network of the test's own: Orthanc listens on every address.
const (
	orthancWeb     = "127.0.0.1:18042"
	orthancDICOM   = "127.0.0.1:14242"
	orthancReceive = "127.0.0.1:14243"
)

func newOrthanc(t *testing.T) *orthanc {
	t.Helper()
	dir := t.TempDir()
	config, err := json.Marshal(map[string]any{
		"StorageDirectory": dir, "IndexDirectory": dir, "Plugins": []string{"/usr/share/orthanc/plugins/libOrthancDicomWeb.so"},
		"HttpPort": 18042, "DicomPort": 14242, "DicomAet": "ORTHANC", "DicomCheckCalledAet": true,
		"AuthenticationEnabled": true, "RegisteredUsers": map[string]string{"ward": "secret"},
		"DicomAlwaysAllowGet": true, "DicomAlwaysAllowFind": true, "DicomAlwaysAllowMove": true, "DicomAlwaysAllowStore": true,
		"DicomModalities": map[string]any{"here": []any{"LINERWATCH", "127.0.0.1", 14243}},
	})
	require.NoError(t, err)
	o := &orthanc{t: t, config: filepath.Join(t.TempDir(), "orthanc.json")}
	require.NoError(t, os.WriteFile(o.config, config, 0o600))
	o.start()
	t.Cleanup(o.kill)
	return o
}

// start starts it and waits until it answers on both ports.
func (o *orthanc) start() {
	o.cmd = exec.Command("Orthanc", o.config)
	require.NoError(o.t, o.cmd.Start())
	for _, address := range []string{orthancWeb, orthancDICOM} {
		require.Eventually(o.t, func() bool {
			c, err := net.Dial("tcp", address)
			if err == nil {
				c.Close()
			}
			return err == nil
		}, time.Minute, 100*time.Millisecond, address)
	}
}

// kill kills it, with no time for anything.
func (o *orthanc) kill() {
	_ = o.cmd.Process.Kill() // it may have been killed before
	_ = o.cmd.Wait()
}

// noisy writes films of one patient, one in four as lossless JPEG and one in four as
// JPEG-LS, and returns their paths and the keys of their pixels.
func noisy(t *testing.T, n int) (paths []string, keys map[string]bool) {
	t.Helper()
	dir, random, keys := t.TempDir(), rand.New(rand.NewPCG(1, 2)), map[string]bool{}
	for i := range n {
		img := image.NewGray16(image.Rect(0, 0, 500, 400))
		for y := range 400 {
			for x := range 500 {
				v := uint16(x+y+i) + uint16(random.IntN(64))
				img.Pix[img.PixOffset(x, y)], img.Pix[img.PixOffset(x, y)+1] = byte(v>>8), byte(v)
			}
		}
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2",
			PatientCode: "P1", Date: time.Date(2010, 1, 1+i%20, 0, 0, 0, 0, time.UTC)}))
		if tool := map[int]string{1: "dcmcjpeg", 3: "dcmcjpls"}[i%4]; tool != "" {
			said, err := exec.Command(tool, path, path).CombinedOutput()
			require.NoError(t, err, string(said))
		}
		film, err := dicomio.Open(path)
		require.NoError(t, err)
		keys[film.PixelKey()] = true
		paths = append(paths, path)
	}
	require.Len(t, keys, n)
	return paths, keys
}

// Of 200 films half are stored by each way; all are found and fetched by every way, the
// archive killed in the middle of each. The pixels are the same bit for bit, in the
// transfer syntax in which they were stored.
func TestOrthanc(t *testing.T) {
	if os.Getenv("LINERWATCH_ORTHANC") == "" {
		t.Skip("run by .ci/peers archive, in a network of its own")
	}
	const n = 200
	o := newOrthanc(t)
	ways := []archive.Settings{
		{Name: "DICOMweb", Address: "http://" + orthancWeb + "/dicom-web", User: "ward"},
		{Name: "C-GET", Address: orthancDICOM, Called: "ORTHANC", Calling: "LINERWATCH"},
		{Name: "C-MOVE", Address: orthancDICOM, Called: "ORTHANC", Calling: "LINERWATCH", Receive: orthancReceive},
	}
	known := archive.Secrets{Getenv: func(string) string { return "secret" }}
	paths, keys := noisy(t, n)
	for i, way := range ways[:2] {
		a, err := archive.Open(t.Context(), way, known)
		require.NoError(t, err)
		require.NoError(t, a.Ask(t.Context()))
		begun := time.Now()
		require.NoError(t, a.Send(t.Context(), paths[i*n/2:(i+1)*n/2], func(path string, err error) { require.NoError(t, err, path) }))
		t.Logf("peers: %s: %d films stored in %.1f s", []string{"STOW-RS", "C-STORE"}[i], n/2, time.Since(begun).Seconds())
	}
	for _, way := range ways {
		t.Run(way.Name, func(t *testing.T) { o.fetched(t, way, known, keys) })
	}
}

// fetched fetches every film by one way.
func (o *orthanc) fetched(t *testing.T, way archive.Settings, known archive.Secrets, keys map[string]bool) {
	a, err := archive.Open(t.Context(), way, known)
	require.NoError(t, err)
	begun := time.Now()
	series, err := a.Series(t.Context(), "P1")
	require.NoError(t, err)
	require.Len(t, series, len(keys), "each film is a series of its own")
	found := time.Since(begun)

	dir, killed := t.TempDir(), 0
	_, err = a.Fetch(t.Context(), dir, series, func(done, _ int, _ string) {
		if done == len(keys)/2 && killed == 0 {
			killed = done
			o.kill()
		}
	})
	require.Error(t, err, "the archive is gone")
	o.start()
	begun = time.Now()
	films, err := a.Fetch(t.Context(), dir, series, nil)
	require.NoError(t, err)
	took := time.Since(begun)
	here, syntaxes, bytes := 0, map[string]int{}, int64(0)
	got := map[string]bool{}
	for _, f := range films {
		if f.Here {
			here++
		}
		film, err := dicomio.Open(f.Path)
		require.NoError(t, err)
		got[film.PixelKey()] = true
		syntaxes[film.TransferSyntax]++
		info, err := os.Stat(f.Path)
		require.NoError(t, err)
		bytes += info.Size()
	}
	require.Equal(t, keys, got, "bit for bit")
	require.GreaterOrEqual(t, here, killed)
	require.Less(t, here, len(keys))
	require.Equal(t, map[string]int{"1.2.840.10008.1.2.1": 100, "1.2.840.10008.1.2.4.70": 50, "1.2.840.10008.1.2.4.80": 50}, syntaxes)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, left, len(keys), "no half film")
	t.Logf("peers: %s: %d films (%.0f MB) found in %.1f s, identical; killed after %d, the other %d in %.1f s",
		way.Name, len(films), float64(bytes)/1e6, found.Seconds(), here, len(films)-here, took.Seconds())
}

// results writes a report, a picture and a presentation state of a film, and returns their
// paths.
func results(t *testing.T, film string) (paths []string) {
	t.Helper()
	opened, err := dicomio.Open(film)
	require.NoError(t, err)
	header, err := dicomio.ReadItem(film)
	require.NoError(t, err)
	is, err := result.FilmOf(header, 1)
	require.NoError(t, err)
	by := result.Source{Program: "Linerwatch", Version: "test", Reader: "R1", Made: time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)}
	head := result.Circle(200, 180, 60)
	r := result.Report{Film: is, Hip: "P1", Side: "right", Reading: "r1", Read: by.Made, Source: by,
		Groups: []result.Group{{Name: "head", Finding: result.Head, Outline: head}}}
	for _, one := range []interface{ Item() (dicomio.Item, error) }{
		r,
		result.Capture{Film: is, Hip: "P1", Side: "right", Picture: opened.Pixels, About: "film with outlines", Of: r.UID(), Source: by},
		result.State{Film: is, Hip: "P1", Side: "right", About: "outlines", Of: r.UID(), Rows: opened.Rows, Columns: opened.Columns,
			Aspect: 1, Place: opened.Place(), Greys: result.GreysOf(opened), Marks: []result.Mark{{Outline: *head, Text: "head"}}, Source: by},
	} {
		item, err := one.Item()
		require.NoError(t, err)
		f, err := os.Create(filepath.Join(t.TempDir(), "result.dcm"))
		require.NoError(t, err)
		require.NoError(t, item.Write(f))
		require.NoError(t, f.Close())
		paths = append(paths, f.Name())
	}
	return paths
}

// A report, a picture and a presentation state are taken and found, by each way, and none
// is taken for a film.
func TestOrthancKeepsResults(t *testing.T) {
	if os.Getenv("LINERWATCH_ORTHANC") == "" {
		t.Skip("run by .ci/peers archive, in a network of its own")
	}
	newOrthanc(t)
	paths, _ := noisy(t, 2)
	for i, way := range []archive.Settings{
		{Name: "STOW-RS", Address: "http://" + orthancWeb + "/dicom-web", User: "ward"},
		{Name: "C-STORE", Address: orthancDICOM, Called: "ORTHANC", Calling: "LINERWATCH"},
	} {
		a, err := archive.Open(t.Context(), way, archive.Secrets{Getenv: func(string) string { return "secret" }})
		require.NoError(t, err)
		all := append([]string{paths[i]}, results(t, paths[i])...)
		require.NoError(t, a.Send(t.Context(), all, func(path string, err error) { require.NoError(t, err, path) }))
		series, err := a.Series(t.Context(), "P1")
		require.NoError(t, err)
		found := map[string]bool{}
		for _, s := range series {
			if s.Date.Day() == 1+i {
				found[s.Modality] = s.MayBeFilms
			}
		}
		require.Equal(t, map[string]bool{"DX": true, "SR": false, "OT": false, "PR": false}, found)
		t.Logf("peers: %s: report, picture and presentation state taken, found, and no films", way.Name)
	}
}

// A stop in the middle of a study is at once.
func TestOrthancStops(t *testing.T) {
	if os.Getenv("LINERWATCH_ORTHANC") == "" {
		t.Skip("run by .ci/peers archive, in a network of its own")
	}
	newOrthanc(t)
	paths, _ := noisy(t, 20)
	for _, way := range []archive.Settings{
		{Name: "DICOMweb", Address: "http://" + orthancWeb + "/dicom-web", User: "ward"},
		{Name: "C-GET", Address: orthancDICOM, Called: "ORTHANC", Calling: "LINERWATCH"},
	} {
		a, err := archive.Open(t.Context(), way, archive.Secrets{Getenv: func(string) string { return "secret" }})
		require.NoError(t, err)
		require.NoError(t, a.Send(t.Context(), paths, func(path string, err error) { require.NoError(t, err, path) }))
		series, err := a.Series(t.Context(), "P1")
		require.NoError(t, err)
		ctx, stop := context.WithCancel(t.Context())
		var stopped time.Time
		_, err = a.Fetch(ctx, t.TempDir(), series, func(done, _ int, _ string) {
			if done == 3 {
				stopped = time.Now()
				stop()
			}
		})
		require.ErrorIs(t, err, context.Canceled)
		t.Logf("peers: %s: ended %.0f ms after it was stopped", way.Name, 1e3*time.Since(stopped).Seconds())
	}
}
