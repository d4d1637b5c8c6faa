package session

import (
	"fmt"
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// A table and a folder are shown, entered, and measured, with what waits told.
func TestImportAndMeasureAll(t *testing.T) {
	b := newBench(t)
	dir := t.TempDir()
	table := filepath.Join(dir, "hips.csv")
	put := func(text string) { require.NoError(t, os.WriteFile(table, []byte(text), 0o600)) }
	for i, side := range []string{"R", "R", "L"} {
		img := image.NewGray16(image.Rect(0, 0, 20, 20))
		img.Pix[1] = byte(i + 1)
		require.NoError(t, dicomio.WriteFile(filepath.Join(dir, fmt.Sprint(i, ".dcm")), &dicomio.Film{Pixels: img, Bits: 12, View: "AP",
			Photometric: "MONOCHROME2", PatientCode: "T9", Laterality: side, Date: time.Date(2005+i, 1, 1, 0, 0, 0, 0, time.UTC)}))
	}
	in := b.book.Import()
	var said string
	var ready, changes bool
	var err error
	plan := func(asked ImportAsked) {
		in.Plan(asked, func(list []string, r, c bool, e error) { said, ready, changes, err = strings.Join(list, "\n"), r, c, e })
		b.drain()
	}
	plan(ImportAsked{Hips: table})
	require.ErrorIs(t, err, ErrNoStudy)
	require.NoError(t, b.book.create(filepath.Join(dir, "s"+study.FileExt)))
	b.settings.Reader = "C1"
	plan(ImportAsked{})
	require.ErrorContains(t, err, "import.nothing")

	put("patient,side,surgery,head_mm\nT9,right,2004-01-01,280\n")
	plan(ImportAsked{Hips: table, Films: dir})
	require.NoError(t, err)
	require.False(t, ready)
	require.Contains(t, said, `hips.csv: line 2, column head_mm, "280"`)

	put("patient,side,surgery,head_mm,x\nT9,right,2004-01-01,28,3\n")
	plan(ImportAsked{Hips: table, Films: dir, Columns: "x=hip:integer; "})
	require.NoError(t, err)
	require.True(t, ready)
	require.False(t, changes)
	require.Contains(t, said, "Hips: 1 new")
	require.Contains(t, said, "2 go to a hip, 0 are there, 1 wait")
	hips, e := b.book.store.Hips(t.Context())
	require.NoError(t, e)
	require.Empty(t, hips, "nothing is written before it is asked for")

	err = ErrNoStudy
	in.Enter("", func(e error) { err = e })
	b.drain()
	require.NoError(t, err)
	hips, e = b.book.store.Hips(t.Context())
	require.NoError(t, e)
	require.Len(t, hips, 1)
	require.Len(t, b.Intake().Piles(), 1)
	plan(ImportAsked{Hips: table, Films: dir})
	require.False(t, ready, "the same again is nothing")

	b.book.MeasureAll(func(list []string, e error) { said, err = strings.Join(list, "\n"), e })
	b.drain()
	require.NoError(t, err)
	require.Contains(t, said, "Measured: 0 films proposed, 2 without a result")
	require.Contains(t, said, "T9 right, 0.dcm: ")

	put("patient,side,head_mm\nT9,right,32\n")
	require.NoError(t, b.OpenHip(hips[0].ID))
	b.drain()
	plan(ImportAsked{Hips: table})
	require.True(t, changes)
	in.Enter("", func(e error) { err = e })
	require.ErrorContains(t, err, "import.why")
	in.Enter("misread", func(e error) { err = e })
	b.drain()
	require.NoError(t, err)
	require.Equal(t, 32.0, b.hip.Implant.HeadMM, "the open hip is shown as it is now")
	changed, e := b.book.store.HipChanges(t.Context(), hips[0].ID)
	require.NoError(t, e)
	require.Equal(t, "misread", changed[len(changed)-1].Why)
}

// Measuring that is stopped keeps what it has done, and does not tell that it is done.
func TestMeasureAllStops(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	b.book.MeasureAll(func([]string, error) { t.Error("it was stopped") })
	b.Work().Stop()
	b.drain()
}
