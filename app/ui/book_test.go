package ui

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/store"
	"linerwatch/app/study"
)

// twoPatients is a desk with a study of one hip, beside which a film of another patient
// waits.
func twoPatients(t *testing.T) *desk {
	d := patients(t)
	dir := filmsIn(t, series...)
	d.add([]string{dir})
	d.drain()
	d.dialogKey(fyne.KeyReturn)
	d.drain()
	d.fill("2004-01-01", "28", "8")
	d.drain()
	require.NoError(t, d.create(filepath.Join(dir, "s"+study.FileExt)))
	d.s.Overview()
	d.look()
	return d
}

func (d *desk) hip() string {
	h, _ := d.s.Hip()
	return h.Label()
}

// Keys go from hip to hip; a hip that was not begun is begun, and its form asked.
func TestHipsByKey(t *testing.T) {
	d := twoPatients(t)
	d.s.Overview().Sort = session.ByCode
	d.letter('<')
	require.Contains(t, d.s.Notice(), "This is the first hip of the study.")
	d.letter('>')
	d.drain()
	require.True(t, d.asking, "what no file says is asked")
	d.fillFor("T2", "2004-01-01", "28", "8")
	d.drain()
	require.Equal(t, "T2 right", d.hip())
	d.s.Overview()
	d.look()
	d.letter('<')
	d.drain()
	require.Equal(t, "T1 right", d.hip())
	require.Equal(t, "T1 right.", d.s.Notice())
	for d.s.Overview().Busy() {
		(<-d.queue)()
	}
	d.letter('3')
	d.drain()
	require.Equal(t, "T2 right", d.hip())
	require.Equal(t, "s.linerwatch · Linerwatch", d.win.Title())
}

// A step to the next hip right after the form waits until the hips are read, and is then
// taken.
func TestNextHipRightAfterTheForm(t *testing.T) {
	d := twoPatients(t)
	d.s.Overview().Sort = session.ByCode
	d.letter('>')
	d.drain()
	d.fillFor("T2", "2004-01-01", "28", "8")
	d.s.Overview().SortBy(session.ByCode) // back: T1 is after T2
	d.letter('>')
	require.Contains(t, d.s.Notice(), "that hip is opened once they are")
	d.drain()
	d.look()
	require.Equal(t, "T1 right", d.hip())
}

// The folder of a second patient asks for nothing but implant and dates.
func TestSecondPatientIsAskedAboutOnce(t *testing.T) {
	d := patients(t)
	d.add([]string{filmsIn(t, series[:3]...)})
	d.drain()
	d.fill("2004-01-01", "28", "8")
	d.drain()
	require.NoError(t, d.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	d.add([]string{filmsIn(t, series[3])})
	d.drain()
	require.False(t, d.covered(), "their files say whose they are")
	require.Contains(t, d.s.Notice(), "1 film of another patient or side (T2, right) waits")
	d.key(fyne.KeyF2, false)
	d.look()
	p := of[*hipsPage](d)
	require.Equal(t, "T2", p.table.Rows()[p.table.Cursor()][0].Text)
	d.key(fyne.KeyReturn, false)
	d.drain()
	require.True(t, d.asking)
	d.fillFor("T2", "2004-01-01", "28", "8")
	d.drain()
	require.False(t, d.covered())
	require.Equal(t, "T2 right", d.hip())
}

// What was open last is open again at the start, with its hips in front; one that cannot
// be opened is told on the first screen.
func TestStartGoesOn(t *testing.T) {
	d := twoPatients(t)
	path := d.s.Book().Path()
	again := func() {
		d.s = session.New(session.Config{Post: func(f func()) { d.queue <- f }, Studies: d.studies(), Detect: detect, Open: openFilm,
			SettingsPath: filepath.Join(filepath.Dir(path), "settings.json")})
		d.window = newWindow(fyne.CurrentApp(), d.s, func(f func()) { d.queue <- f })
	}
	again()
	require.NoError(t, d.openBook(path)) // remembers it
	d.drain()
	again()
	d.goOn(func() {})
	d.drain()
	require.Equal(t, path, d.s.Book().Path())
	require.Equal(t, d.placeOf("Hips"), d.at)

	again()
	delete(d.files, path)
	d.goOn(func() {})
	d.drain()
	require.Empty(t, d.s.Book().Path())
	require.Contains(t, d.s.Notice(), "was not opened")
}

// seize is a study file with a hip, made unusable by harm.
func seize(t *testing.T, path string, harm func(data []byte)) {
	t.Helper()
	st, err := store.Create(path)
	require.NoError(t, err)
	for i := range 40 {
		_, err = st.SaveHip(t.Context(), study.Hip{Patient: fmt.Sprint("T", i), Side: study.Right}, study.Stamp{})
		require.NoError(t, err)
	}
	require.NoError(t, st.Close())
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	harm(data)
	require.NoError(t, os.WriteFile(path, data, 0o600))
}

// A last study that cannot be opened is told in one line at the start and left as it is;
// another is offered, and films go to another.
func TestLastStudyThatCannotBeOpened(t *testing.T) {
	for name, c := range map[string]struct {
		harm func(data []byte)
		wrap func(study.Files) study.Files
		says string
	}{
		"newer": {harm: func(data []byte) { binary.BigEndian.PutUint32(data[60:], 99) }, says: "written by a newer version of the program"},
		"damaged": {harm: func(data []byte) {
			for i := 100; i < len(data); i++ {
				data[i] = 0xff
			}
		}, says: "damaged"},
		"no study": {harm: func(data []byte) { copy(data, "hip,years,penetration_mm") }, says: "not a study file"},
		"locked": {harm: func([]byte) {}, wrap: func(f study.Files) study.Files {
			open := f.Open
			f.Open = func(ctx context.Context, path string, tell study.Progress) (study.Store, error) {
				if filepath.Base(path) == "last"+study.FileExt {
					return nil, errors.New("another program is writing to it; try again (last.linerwatch)")
				}
				return open(ctx, path, tell)
			}
			return f
		}, says: "another program is writing to it; try again"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			last, own := filepath.Join(dir, "last"+study.FileExt), filepath.Join(dir, "own"+study.FileExt)
			seize(t, last, c.harm)
			before, err := os.ReadFile(last)
			require.NoError(t, err)
			settings := filepath.Join(dir, "settings.json")
			require.NoError(t, os.WriteFile(settings, fmt.Appendf(nil, `{"Study":%q}`, last), 0o600))
			studies := store.Files()
			if c.wrap != nil {
				studies = c.wrap(studies)
			}
			d := newDesk(t)
			d.s = session.New(session.Config{Post: func(f func()) { d.queue <- f }, Studies: studies, Detect: detect, Open: openFilm,
				SettingsPath: settings, StudyPath: own})
			d.window = newWindow(fyne.CurrentApp(), d.s, func(f func()) { d.queue <- f })
			d.start(Config{})
			d.drain()
			require.Contains(t, d.s.Notice(), "was not opened: ")
			require.Contains(t, d.s.Notice(), c.says)
			require.NotContains(t, d.s.Notice(), "\n")
			require.Contains(t, d.shown(), c.says)
			offered := false
			for _, b := range onScreen[*widget.Button](d.win) {
				offered = offered || b.Text == "A new study …"
			}
			require.True(t, offered)
			d.press("Open another study …")
			d.top().dialog.Hide()
			d.add([]string{filmsIn(t, series[0])})
			d.drain()
			require.Equal(t, own, d.s.Book().Path())
			require.Contains(t, d.s.Notice(), c.says)
			require.Equal(t, last, d.s.Book().Last(), "it may be to be had again")
			require.NoError(t, d.s.Close())
			after, err := os.ReadFile(last)
			require.NoError(t, err)
			require.Equal(t, before, after)
		})
	}
}

// A study without hips may take the place of one whose hips are shown.
func TestNewStudyFromThePageOfHips(t *testing.T) {
	d := twoPatients(t)
	d.key(fyne.KeyF2, false)
	d.drain()
	require.NotEmpty(t, of[*hipsPage](d).table.Rows())
	d.s.Book().New(filepath.Join(t.TempDir(), "other"+study.FileExt), func(err error) { require.NoError(t, err) })
	d.drain()
	d.look()
	require.Empty(t, of[*hipsPage](d).rows)
	require.Contains(t, of[*hipsPage](d).empty.Text, "holds no hip yet")
}

// Above films of which nobody has said yet whose they are stands what their files say, and
// never the hip that was open before.
func TestFilmsNotBegunAreNotUnderAnotherName(t *testing.T) {
	d := twoPatients(t)
	d.s.Overview().Sort = session.ByCode
	other := study.Hip{Patient: "T0", Side: study.Left, Surgery: day(2004, 1), Implant: study.Implant{HeadMM: 28}}
	for _, m := range d.files {
		_, err := m.SaveHip(t.Context(), other, study.Stamp{})
		require.NoError(t, err)
	}
	h, _ := d.s.Hip()
	require.NoError(t, d.s.OpenHip(h.ID)) // reads the hips anew
	d.drain()
	p := d.films.side
	require.True(t, p.hips.Visible())
	require.Equal(t, "T1 · right hip", p.hips.Selected)
	d.s.Overview()
	d.look()
	d.letter('>')
	d.drain()
	require.True(t, d.asking)
	d.press("Later")
	d.drain()
	require.False(t, p.hips.Visible())
	require.True(t, p.hip.Visible())
	require.Equal(t, "T2 · right hip", p.hip.Text)
	require.Contains(t, p.implant.Text, "Not entered yet")
}

// While a patient looks on, no key brings another patient's hip.
func TestPatientsPageKeepsItsHip(t *testing.T) {
	d := twoPatients(t)
	d.s.Overview().Sort = session.ByCode
	d.letter('>')
	d.drain()
	d.fillFor("T2", "2004-01-01", "28", "8")
	d.drain()
	d.s.Overview()
	d.look()
	d.letter('<')
	d.drain()
	d.s.Edits().Nudge(1, 0)
	d.letter('>')
	d.drain()
	require.Equal(t, "T2 right", d.hip())
	d.letter('v')
	require.Equal(t, patientKind().word, d.inFront())
	for _, r := range "<>3" {
		d.letter(r)
		d.drain()
		require.Equal(t, "T2 right", d.hip(), string(r))
	}
	d.typed(key{ctrl: &fyne.ShortcutUndo{}})
	d.drain()
	require.Equal(t, "T2 right", d.hip(), "the last step was on the other hip")
	require.Equal(t, patientKind().word, d.inFront())
	d.letter('v')
	d.typed(key{ctrl: &fyne.ShortcutUndo{}})
	d.drain()
	require.Equal(t, "T1 right", d.hip())
}
