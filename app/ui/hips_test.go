package ui

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// accepted is a desk whose series R2 has read into a study file.
func accepted(t *testing.T) (d *desk, dir string) {
	d, dir = proposed(t, series...)
	require.NoError(t, d.s.SetReader("R2"))
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	for i := range series {
		d.s.Strip().Select(i)
		require.NoError(t, d.s.Accept())
	}
	d.drain()
	return d, dir
}

// look waits until the hips are read.
func (d *desk) look() {
	d.t.Helper()
	for d.s.Overview().Busy() {
		(<-d.queue)()
	}
	d.drain()
}

func TestHipsPageListsAndOpens(t *testing.T) {
	d, _ := accepted(t)
	d.key(fyne.KeyF2, false)
	require.True(t, of[*hipsPage](d).object.Visible())
	require.Contains(t, of[*hipsPage](d).empty.Text, "Reading the study file")
	d.look()
	require.Empty(t, of[*hipsPage](d).empty.Text)
	row := of[*hipsPage](d).table.Rows()[0]
	require.Equal(t, "T1", row[0].Text)
	require.Equal(t, "right", row[0].More)
	require.Equal(t, "done", row[1].Text)
	require.Equal(t, "28 mm head", row[3].Text)
	require.Equal(t, "8 mm liner", row[3].More)
	require.Equal(t, "4 of 4", row[5].Text)
	require.Equal(t, "R2", row[5].More)
	require.Equal(t, "0.100 mm/year", row[6].Text)
	require.Equal(t, "head material", row[7].Text)

	of[*hipsPage](d).find.SetText("no such hip")
	require.Contains(t, of[*hipsPage](d).empty.Text, "No hip matches")
	require.Empty(t, of[*hipsPage](d).table.Rows())
	of[*hipsPage](d).find.SetText("material")
	require.Len(t, of[*hipsPage](d).table.Rows(), 1)
	d.win.Canvas().Focus(of[*hipsPage](d).find)
	of[*hipsPage](d).find.TypedKey(&fyne.KeyEvent{Name: fyne.KeyF3})
	require.Equal(t, "Hip", d.inFront(), "keys of the pages work while words are typed")
	d.key(fyne.KeyF2, false)
	of[*hipsPage](d).find.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.Nil(t, d.win.Canvas().Focused())
	of[*hipsPage](d).find.SetText("")
	d.key(fyne.KeyDown, false)
	require.Equal(t, 0, of[*hipsPage](d).table.Cursor())
	d.key(fyne.KeyReturn, false)
	require.Equal(t, "Read", d.inFront())
	d.letter('/')
	require.Equal(t, "Read", d.inFront())
}

// manyHips is a desk with a study of n hips of two films each: of the first both are left
// out, of the others nothing is read but the second of the last, which is left out.
func manyHips(t *testing.T, n int) *desk {
	d := newDesk(t)
	path := filepath.Join(t.TempDir(), "many"+study.FileExt)
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	m := new(storetest.Memory)
	d.files[path] = m
	ctx := t.Context()
	for i := range n {
		h, err := m.SaveHip(ctx, study.Hip{Patient: fmt.Sprintf("M%02d", i), Side: study.Right, Surgery: day(2004, 1), Implant: study.Implant{HeadMM: 28}}, study.Stamp{})
		require.NoError(t, err)
		for k := range 2 {
			date := day(2004+k, 2).AddDate(0, 0, i)
			sha := "sha-" + date.Format(time.DateOnly)
			f, err := m.SaveFilm(ctx, study.Film{ID: sha, Path: date.Format("2006-01-02.dcm"), Facts: study.Facts{SHA256: sha, Date: date}}, study.Stamp{})
			require.NoError(t, err)
			require.NoError(t, m.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, study.Stamp{}))
			if i == 0 || i == n-1 && k == 0 {
				require.NoError(t, m.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, Code: "exposure", Reader: "R1", At: day(2020, 1)}))
			}
		}
	}
	d.s.Book().Open(path, func(err error) { require.NoError(t, err) })
	d.drain()
	return d
}

func day(year int, month time.Month) time.Time {
	return time.Date(year, month, 1, 0, 0, 0, 0, time.UTC)
}

func TestHipsAreCountedByStateAndFiltered(t *testing.T) {
	d := manyHips(t, 3)
	d.key(fyne.KeyF2, false)
	d.look()
	p := of[*hipsPage](d)
	states := func() (out []string) {
		for _, r := range p.table.Rows() {
			out = append(out, r[0].Text+" "+r[1].Text)
		}
		return out
	}
	require.Equal(t, []string{"M02 in progress", "M01 to read", "M00 done"}, states(), "what waits comes first")
	require.Equal(t, "Every state  3", p.states.buttons[0].Text)
	require.False(t, p.states.all.Visible())
	d.press("To read  1")
	require.Equal(t, []string{"M01 to read"}, states())
	require.Equal(t, widget.MediumImportance, p.states.buttons[4].Importance)
	require.Contains(t, p.foot.Text, "1 of 3 rows")
	p.find.SetText("m02")
	require.Equal(t, "Every state  1", p.states.buttons[0].Text, "the counts are of what the words leave")
	p.find.SetText("m00")
	require.Contains(t, p.empty.Text, "No hip matches")
	d.press("Show every hip")
	require.Len(t, states(), 3)
	require.Empty(t, p.find.Text)

	d.key(fyne.KeyRight, false)
	require.Equal(t, []string{"M02 in progress"}, states(), "states of no hip are passed over")
	d.key(fyne.KeyRight, false)
	d.key(fyne.KeyRight, false)
	require.Equal(t, []string{"M00 done"}, states())
	d.key(fyne.KeyRight, false)
	require.Equal(t, []string{"M00 done"}, states())
	d.key(fyne.KeyBackspace, false)
	require.Len(t, states(), 3)
	d.letter('o')
	require.Equal(t, session.ByGroup, d.s.Overview().Sort)
	p.table.OnSort(0)
	require.Equal(t, []string{"M00 done", "M01 to read", "M02 in progress"}, states())
	d.letter('r')
	require.Equal(t, []string{"M02 in progress", "M01 to read", "M00 done"}, states())
}

// A hip is opened at the first film that waits, and stays there once its films are read.
func TestEnterOpensTheFirstFilmThatWaits(t *testing.T) {
	d := manyHips(t, 3)
	d.key(fyne.KeyF2, false)
	d.look()
	d.key(fyne.KeyReturn, false)
	d.drain()
	require.Equal(t, "Read", d.inFront())
	require.Equal(t, "M02 right", d.hip())
	require.Equal(t, 1, d.s.Strip().SelectedIndex(), "the first is left out")
	d.s.Strip().Select(0)
	d.key(fyne.KeyF2, false)
	d.key(fyne.KeyReturn, false)
	require.Equal(t, "Read", d.inFront())
	require.Equal(t, 1, d.s.Strip().SelectedIndex(), "in the hip that is open, too")
}

// The buttons beside the film go to other hips, as far as there are any.
func TestButtonsGoFromHipToHip(t *testing.T) {
	d := manyHips(t, 3)
	d.look() // what the read page has had read
	steps := func() (on []bool) {
		p := d.films.side.steps
		return []bool{!p.before.Disabled(), !p.after.Disabled(), !p.read.Disabled()}
	}
	at := func(hip string, on ...bool) {
		t.Helper()
		d.drain()
		require.Equal(t, hip, d.hip())
		require.Equal(t, on, steps())
	}
	require.Contains(t, d.films.side.steps.read.over.whole(), "(3)")
	at("M00 right", true, false, true)
	test.Tap(&d.films.side.steps.before.Button)
	at("M01 right", true, true, true)
	test.Tap(&d.films.side.steps.read.Button)
	at("M02 right", false, true, true)
	test.Tap(&d.films.side.steps.after.Button)
	at("M01 right", true, true, true)
	d.letter('>')
	at("M00 right", true, false, true)
	d.letter('>')
	require.Contains(t, d.s.Notice(), "This is the last hip")

	d.tip.show("of this page", 10, 10)
	d.key(fyne.KeyF2, false)
	require.Empty(t, d.tip.text, "it does not stay over another page")

	one := manyHips(t, 1)
	require.False(t, one.films.side.steps.object.Visible())
}

// Many hips are chosen among on their page, since a menu of them takes long to make.
func TestManyHipsAreChosenOnTheirPage(t *testing.T) {
	d := manyHips(t, mostChoices+1)
	require.Equal(t, []string{"M00 · right hip"}, d.films.side.hips.Options)
	test.Tap(d.films.side.hips)
	require.Equal(t, "Hips", d.inFront())
}

func TestHipsPageWithoutAStudySaysSo(t *testing.T) {
	d, _ := proposed(t, series...)
	d.key(fyne.KeyF2, false)
	require.Contains(t, of[*hipsPage](d).empty.Text, "No study file is open")
	require.True(t, of[*hipsPage](d).export.Disabled())
}

func TestHipPageShowsFilmsReadingsAndWhatIsMissing(t *testing.T) {
	d, _ := accepted(t)
	d.key(fyne.KeyF3, false)
	require.True(t, of[*hipPage](d).object.Visible())
	require.Contains(t, of[*hipPage](d).missing.Text, "– polyethylene")
	require.NotContains(t, of[*hipPage](d).missing.Text, "film of the first", "the first is four weeks old")
	films := of[*hipPage](d).films.Rows()
	require.Len(t, films, 4)
	require.Equal(t, "baseline", films[0][2].Text)
	require.Contains(t, films[3][2].Text, "0.80 ± ")
	require.Equal(t, "accepted, R2", films[3][1].Text)
	require.Len(t, of[*hipPage](d).readings.Rows(), 4)
	require.Equal(t, "counts", of[*hipPage](d).readings.Rows()[0][4].Text)

	require.NoError(t, d.s.SetReader("R7"))
	d.s.Strip().Select(3)
	d.s.Edits().Nudge(0, 1)
	require.NoError(t, d.s.Accept())
	d.drain()
	require.Len(t, of[*hipPage](d).readings.Rows(), 5)
	require.Equal(t, "R7", of[*hipPage](d).readings.Rows()[0][1].Text)
	require.Equal(t, "kept", of[*hipPage](d).readings.Rows()[1][4].Text, "R2's stands beside it")
	of[*hipPage](d).counts.SetSelected(study.RuleWords("R2"))
	d.drain()
	require.Equal(t, "R2", d.s.Book().Counts())
	require.Equal(t, "Undo: count readings of R2", d.bar.undo.Text)
	require.Equal(t, "kept", of[*hipPage](d).readings.Rows()[0][4].Text)
	require.Equal(t, "counts", of[*hipPage](d).readings.Rows()[1][4].Text)

	require.NoError(t, d.s.SetReader("R2"))
	d.s.Strip().Select(0)
	d.s.Edits().Nudge(0, 1)
	require.NoError(t, d.s.Accept())
	d.s.History().Undo()
	d.s.History().Undo()
	d.drain()
	require.Len(t, of[*hipPage](d).readings.Rows(), 6)
	require.Equal(t, "withdrawn, kept", of[*hipPage](d).readings.Rows()[0][4].Text)
	require.Contains(t, of[*hipPage](d).readings.Rows()[0][4].More, " by R2")

	of[*hipPage](d).baseline.SetSelectedIndex(2)
	d.drain()
	require.Equal(t, "baseline", of[*hipPage](d).films.Rows()[1][2].Text)
	d.s.History().Undo()
	d.drain()
	require.Equal(t, "baseline", of[*hipPage](d).films.Rows()[0][2].Text)
	of[*hipPage](d).films.OnOpen(2)
	require.Equal(t, "Read", d.inFront())
	require.Equal(t, 2, d.s.Strip().SelectedIndex())
}

// What counts is a rule of the study: a reading that does not count is kept, and that is said.
func TestReadingThatDoesNotCountIsToldOf(t *testing.T) {
	d, _ := accepted(t)
	require.NoError(t, d.s.Book().SetCounts("R2"))
	require.NoError(t, d.s.SetReader("R7"))
	d.s.Edits().Nudge(0, 1)
	d.accept()
	d.drain()
	require.Len(t, d.saved(), 5)
	require.Equal(t, "R2", d.s.Book().Counts())
	require.Contains(t, d.s.Notice(), "It is kept; what counts is readings of R2.")
}

func TestExportWritesTables(t *testing.T) {
	d, dir := accepted(t)
	d.key(fyne.KeyF2, false)
	d.look()
	d.press("Write tables …")
	e := onScreen[*field](d.win)
	require.Equal(t, filepath.Join(dir, "s-tables"), e[0].Text)
	d.press("Write tables")
	d.drain()
	f, err := os.Open(filepath.Join(dir, "s-tables", "readings.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	require.FileExists(t, filepath.Join(dir, "s-tables", "codebook.csv"))
}

func TestFormKeepsWhatIsChosen(t *testing.T) {
	form, err := newDesk(t).s.Form()
	require.NoError(t, err)
	for field, text := range map[string]string{"patient": "T1", "side": "left", "surgery": "2004-01-01", "head_mm": "28", "head_material": "ZTA", "irradiated": "no",
		"liner_mm": "8", "pe": "XLPE", "shell_mm": "52", "fixation": "cemented", "group": "B", "stabiliser": "vitamin E", "lipped": "yes"} {
		require.True(t, form.Enter(field, text))
	}
	f := newHipForm(nil, form)
	d, faults := f.details()
	require.Empty(t, faults)
	require.Equal(t, study.Implant{HeadMM: 28, HeadMaterial: "ZTA", LinerMM: 8, PE: "XLPE", Irradiated: study.No, ShellMM: 52, Fixation: "cemented", Stabiliser: "vitamin E", Lipped: study.Yes}, d.Hip.Implant)
	require.Equal(t, []any{"B", study.Left}, []any{d.Hip.Group, d.Hip.Side})
}

// A key stops what goes on in the background, and goes on with it.
func TestWorkIsStoppedByKey(t *testing.T) {
	d := newDesk(t)
	read := make(chan bool)
	d.set(func(path string) (*dicomio.Film, error) { <-read; return openFilm(path) }, detect, d.studies())
	d.add([]string{filmsIn(t, series...)})
	d.drainUntil(func() bool { return len(d.s.Strip().Films()) > 0 && d.status.cancel.Visible() })
	d.press("Stop")
	require.Contains(t, d.s.Notice(), "Go on takes up the others.")
	require.True(t, d.s.Work().Idle())
	d.keyOf(stopWork).do()
	require.False(t, d.s.Work().Idle())
	d.keyOf(stopWork).do()
	require.True(t, d.s.Work().Idle())
	d.keyOf(stopWork).do()
	close(read)
	d.drain()
	for _, f := range d.s.Strip().Films() {
		require.Equal(t, session.Loaded, f.State())
	}
	d.keyOf(stopWork).do()
	require.Equal(t, "Nothing goes on in the background.", d.s.Notice())
}

// The page shows the rate of the series that the hip is in.
func TestHipsPageShowsTheLatestSeries(t *testing.T) {
	s := study.Summary{Fit: &study.TrendFit{Rate: 0.2}, Series: []study.SeriesRate{
		{No: 2, From: time.Date(2012, 5, 1, 0, 0, 0, 0, time.UTC), Read: 3, Fit: &study.TrendFit{Rate: 0.04, Lo95: 0.02, Hi95: 0.06, HasInterval: true}},
		{No: 3, From: time.Date(2020, 5, 1, 0, 0, 0, 0, time.UTC)},
	}}
	rate := hipCells(s)[6]
	require.Equal(t, []string{"0.040 mm/year", "since 2012-05-01: 95 % 0.020 to 0.060"}, []string{rate.Text, rate.More})
}
