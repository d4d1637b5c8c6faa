package ui

import (
	"bytes"
	"context"
	"encoding/csv"
	"image"
	"maps"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/app/store"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// files are study files on the disk.
var files = store.Files()

// ofPatient invents films whose patient is the name of their folder.
func ofPatient(path string) (*dicomio.Film, error) {
	f, err := openFilm(path)
	if err == nil {
		f.PatientCode = filepath.Base(filepath.Dir(path))
		f.SHA256 += f.PatientCode
	}
	return f, err
}

// eitherSide finds the hip of detect for one of either side.
func eitherSide(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
	list, err := detect(ctx, img, opt)
	for _, h := range list {
		h.Side = measure.Left
		list = append(list, h)
	}
	return list, err
}

// reading opens the films of a patient in a window of their own, and enters the hip as
// a right one of a 28 mm head, but for what is entered otherwise.
func reading(t *testing.T, dir, patient string, names []string, other map[string]string) *desk {
	t.Helper()
	folder := filepath.Join(dir, patient)
	require.NoError(t, os.Mkdir(folder, 0o700))
	for _, n := range names {
		require.NoError(t, os.WriteFile(filepath.Join(folder, n), []byte("film"), 0o600))
	}
	d := &desk{t: t, queue: make(chan func(), 1000), files: map[string]*storetest.Memory{}}
	d.set(ofPatient, eitherSide, files)
	d.add([]string{folder})
	d.drain()
	f := map[string]string{"Patient code": patient, "Side": "right", "Date of surgery": "2004-01-01", "Head diameter": "28", "Liner thickness": "8"}
	maps.Copy(f, other)
	d.enter(f)
	if d.covered() { // the films say another side
		d.press("Open all the same")
	}
	return d
}

// enter fills the form of a hip in by what its rows are called, and takes it.
func (d *desk) enter(f map[string]string) {
	d.t.Helper()
	if d.win.Canvas().Overlays().Top() == nil {
		d.askHip()
	}
	for label, text := range f {
		d.put(label, text)
	}
	d.press(texts.Say("asked.hip-use", nil))
	d.drain()
}

// put enters a text, or chooses words, in the row of a sheet that is called so.
func (d *desk) put(label, text string) {
	d.t.Helper()
	var name *widget.Label
	for _, l := range onScreen[*widget.Label](d.win) {
		if l.Text == label {
			name = l
		}
	}
	require.NotNil(d.t, name, label)
	at := d.driver().AbsolutePositionForObject(name)
	for _, o := range test.LaidOutObjects(d.win.Canvas().Overlays().Top()) {
		if to := d.driver().AbsolutePositionForObject(o); to.X < at.X || to.X > at.X+2*labelWidth || abs32(to.Y-at.Y) > 20 || !o.Visible() {
			continue
		}
		switch o := o.(type) {
		case *field:
			o.SetText(text)
		case *widget.Select:
			o.SetSelected(text)
		case *widget.RadioGroup:
			o.SetSelected(text)
		default:
			continue
		}
		return
	}
	d.t.Fatalf("nothing is entered in %s", label)
}

func (d *desk) driver() fyne.Driver { return fyne.CurrentApp().Driver() }

func abs32(v float32) float32 { return max(v, -v) }

func (d *desk) acceptAs(reader string, films ...int) {
	d.t.Helper()
	require.NoError(d.t, d.s.SetReader(reader))
	for _, i := range films {
		d.s.Strip().Select(i)
		d.drain()
		if d.s.Strip().Selected().Accepted != nil {
			d.s.Edits().Nudge(0, 0.8)
		}
		d.s.Intake().Vouch(d.s.Strip().Selected()) // where its file says another side
		require.NoError(d.t, d.s.Accept())
	}
	d.drain()
}

// walked makes a study of two hips: one that two readers read while it was taken for a
// left one of 26 mm, with a withdrawn reading and a film that is left out, and one of
// two films. It returns the window on the first.
func walked(t *testing.T) (d *desk, path string) {
	dir := t.TempDir()
	path = filepath.Join(dir, "s.linerwatch")
	two := reading(t, dir, "T2", []string{"2006-01-01.dcm", "2009-03-01.dcm"}, nil)
	require.NoError(t, two.create(path))
	two.acceptAs("R2", 0, 1)
	require.NoError(t, two.s.Close())

	d = reading(t, dir, "T1", []string{"2004-02-01.dcm", "2005-01-01.dcm", "2008-01-01.dcm", "2010-01-01.dcm", "2012-01-01.dcm", "2014-01-01.dcm"},
		map[string]string{"Side": "left", "Head diameter": "26"})
	require.NoError(t, d.create(path))
	d.acceptAs("R2", 0, 1, 2, 3, 4, 5)
	d.acceptAs("R7", 2, 5)
	d.s.Strip().Select(3)
	require.NoError(t, d.s.Given().Exclude("projection", ""))
	d.acceptAs("R7", 4)
	d.s.History().Undo()
	d.s.Edits().Discard()
	d.drain()

	d.askHip()
	correct := map[string]string{"Side": "right", "Head diameter": "28"}
	d.enter(correct)
	require.Contains(t, shownText(d), "say why")
	correct["Why it is corrected"] = "misread in the operation note"
	d.enter(correct)
	require.Contains(t, shownText(d), "8 accepted readings rest on the head diameter and side and will be computed anew.")
	h, _ := d.s.Hip()
	require.Equal(t, 26.0, h.Implant.HeadMM, "not before it is agreed to")
	d.press(texts.Say("asked.hip-anew", nil))
	d.drain()
	h, _ = d.s.Hip()
	require.Equal(t, []any{28.0, study.Right}, []any{h.Implant.HeadMM, h.Side})
	return d, path
}

// numbers are the tables of an export, by what leads to a row.
type numbers struct {
	hips, films, readings, moved, fits map[string]map[string]string
	all                                string
}

// exported runs the command on a study and reads what it writes, and its table in words.
func exported(t *testing.T, path, whose string) (n numbers, list map[string]map[string]string, table string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	run := func(more ...string) string {
		var out, errs bytes.Buffer
		require.Equal(t, 0, cli.Run(t.Context(), append(more, path, "--readings-of", whose),
			cli.Env{Stdout: &out, Stderr: &errs, Studies: files}), errs.String())
		return out.String()
	}
	run("study", "export", "--out", dir)
	table = run("study", "list")
	for _, c := range []struct {
		name string
		by   []string
		to   *map[string]map[string]string
	}{{"hips", []string{"hip_id"}, &n.hips}, {"films", []string{"film_id"}, &n.films}, {"readings", []string{"reading_id"}, &n.readings}, {"penetration", []string{"reading_id"}, &n.moved},
		{"fits", []string{"hip_id", "model", "quantity"}, &n.fits}} {
		text, err := os.ReadFile(filepath.Join(dir, c.name+".csv"))
		require.NoError(t, err)
		n.all += string(text)
		*c.to = rowsOf(t, string(text), c.by...)
	}
	return n, rowsOf(t, run("study", "list", "--format", "csv"), "hip"), table
}

func rowsOf(t *testing.T, text string, by ...string) map[string]map[string]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	out := map[string]map[string]string{}
	for _, row := range rows[1:] {
		m, key := map[string]string{}, ""
		for i, c := range row {
			m[rows[0][i]] = c
		}
		for _, b := range by {
			key += m[b] + "|"
		}
		require.NotContains(t, out, key)
		out[key] = m
	}
	return out
}

func value(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[column], 64)
	require.NoError(t, err, "%s of %v", column, row)
	return v
}

// textsOf are all words of rows of a table.
func textsOf(rows [][]widgets.Cell) (out []string) {
	for _, row := range rows {
		text := ""
		for _, c := range row {
			text += c.Text + "|" + c.More + "|"
		}
		out = append(out, text)
	}
	return out
}
