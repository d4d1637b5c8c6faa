package ui

import (
	"context"
	"fmt"
	"image"
	"math"
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
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// desk is a window over a session whose films and search are invented.
type desk struct {
	*window
	t     *testing.T
	queue chan func()
	files map[string]*storetest.Memory // study files by path
	wrap  func(*storetest.Memory) study.Store
	there bool // only files that are there can be opened
}

// newWindow returns a window that shows s.
func newWindow(a fyne.App, s *session.Session, later func(func())) *window {
	w := bareWindow(a, s, later)
	w.fill()
	return w
}

func newDesk(t *testing.T) *desk {
	d := &desk{t: t, queue: make(chan func(), 1000), files: map[string]*storetest.Memory{}}
	d.wrap = func(m *storetest.Memory) study.Store { return m }
	open := func(path string) (*dicomio.Film, error) {
		if _, err := os.Stat(path); err != nil && d.there {
			return nil, fmt.Errorf("%s: %w", filepath.Base(path), err)
		}
		return openFilm(path)
	}
	d.set(open, detect, d.studies())
	return d
}

type detector = func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error)

// set puts a window on the desk.
func (d *desk) set(open func(string) (*dicomio.Film, error), search detector, studies study.Files) {
	t := d.t
	a := test.NewTempApp(t)
	d.window = newWindow(a, session.New(session.Config{
		Post: func(f func()) { d.queue <- f }, Studies: studies, Version: "test",
		Open: open, Detect: search,
		Refine: func(_ *image.Gray16, c measure.Circle, _ measure.Part) (measure.Outline, error) {
			return outline(c.X, c.Y, c.R), nil
		},
	}), func(f func()) { d.queue <- f })
	d.win.Resize(fyne.NewSize(1280, 720))
	t.Cleanup(d.win.Close)
}

// drain runs what the background sends until it is done.
func (d *desk) drain() {
	d.t.Helper()
	for {
		if _, total := d.s.Work().Progress(); total == 0 && len(d.queue) == 0 && !d.s.Book().Opening() {
			d.refresh()
			return
		}
		select {
		case f := <-d.queue:
			f()
		case <-time.After(10 * time.Second):
			d.t.Fatal("the background sent nothing")
		}
	}
}

// openFilm invents a film named for its date; its first pixel is the year.
func openFilm(path string) (*dicomio.Film, error) {
	date, err := time.Parse("2006-01-02.dcm", filepath.Base(path))
	if err != nil {
		return nil, fmt.Errorf("%s: malformed: no film", filepath.Base(path))
	}
	img := image.NewGray16(image.Rect(0, 0, 400, 400))
	for i := range img.Pix {
		img.Pix[i] = byte(i / 1600)
	}
	img.Pix[0], img.Pix[1] = byte(date.Year()>>8), byte(date.Year())
	return &dicomio.Film{
		Path: path, Format: "DICOM", SHA256: "sha-" + date.Format(time.DateOnly), Pixels: img, Bits: 16, PatientCode: "T1",
		Date: date, Laterality: "R", Geometry: dicomio.Geometry{Imager: [2]float64{0.23, 0.23}},
	}, nil
}

// detect finds a head that goes up by half a pixel, 0.1 mm, a year.
func detect(_ context.Context, img *image.Gray16, _ find.Options) ([]measure.Hip, error) {
	year := float64(int(img.Pix[0])<<8 | int(img.Pix[1]))
	if year == 2013 {
		return nil, &measure.Refusal{Reason: study.Note{Text: "the film shows no hip"}}
	}
	return []measure.Hip{{
		Side: measure.Right, CupKind: measure.Shell,
		Head: outline(200, 200-(year-2004)/2, 70), Cup: outline(200, 205, 125),
	}}, nil
}

func outline(x, y, r float64) measure.Outline {
	o := measure.Outline{CircleFit: measure.CircleFit{Circle: measure.Circle{X: x, Y: y, R: r}, Arc: 360}}
	for i := range o.Cov {
		o.Cov[i][i] = 0.0025
	}
	for a := 0.0; a < 360; a += 10 {
		sin, cos := math.Sincos(a * math.Pi / 180)
		o.Points = append(o.Points, measure.Point{X: x + r*cos, Y: y + r*sin})
	}
	o.Residuals = make([]float64, len(o.Points))
	return o
}

// studies are study files that are kept in memory; a file says that there is one.
func (d *desk) studies() study.Files {
	open := func(_ context.Context, path string, _ study.Progress) (study.Store, error) {
		if d.files[path] == nil {
			return nil, fmt.Errorf("not a study file (%s)", filepath.Base(path))
		}
		return d.wrap(d.files[path]), nil
	}
	create := func(path string) (study.Store, error) {
		d.files[path] = new(storetest.Memory)
		return d.wrap(d.files[path]), os.WriteFile(path, nil, 0o600)
	}
	return study.Files{Open: open, Create: create}
}

// opened waits for the study that is being opened.
func (d *desk) opened() {
	for d.s.Book().Opening() {
		(<-d.queue)()
	}
}

// openBook, create and settle are those of the session and the window, waited for.
func (d *desk) openBook(path string) (err error) {
	d.s.Book().Open(path, func(e error) { err = e })
	d.opened()
	return err
}

func (d *desk) create(path string) (err error) {
	d.s.Book().Create(path, func(e error) { err = e })
	d.opened()
	return err
}

func (d *desk) settle(reader, path string) (err error) {
	d.window.settle(reader, path, func(e error) { err = e })
	d.opened()
	return err
}

// saved returns the readings of all study files.
func (d *desk) saved() (out []study.Reading) {
	for _, m := range d.files {
		require.NoError(d.t, m.Records(d.t.Context(), func(r study.Record) error { out = append(out, r.Readings...); return nil }))
	}
	return out
}

// filmsIn makes files with the given names in a folder.
func filmsIn(t *testing.T, names ...string) (dir string) {
	dir = t.TempDir()
	for _, n := range names {
		require.NoError(t, os.WriteFile(filepath.Join(dir, n), []byte("film"), 0o600))
	}
	return dir
}

// onScreen returns the objects of type T that are shown, dialogs on top included.
func onScreen[T fyne.CanvasObject](w fyne.Window) []T {
	root := w.Content()
	if top := w.Canvas().Overlays().Top(); top != nil {
		root = top
	}
	var out []T
	for _, o := range test.LaidOutObjects(root) {
		if v, ok := o.(T); ok && o.Visible() {
			out = append(out, v)
		}
	}
	return out
}

// press taps the button with the given text.
func (d *desk) press(text string) {
	d.t.Helper()
	for _, b := range onScreen[*widget.Button](d.win) {
		if b.Text == text && !b.Disabled() {
			test.Tap(b)
			return
		}
	}
	d.t.Fatalf("no button %q", text)
}

var series = []string{"2004-02-01.dcm", "2005-01-01.dcm", "2008-01-01.dcm", "2012-01-01.dcm"}

// proposed is a desk with a series dropped on it and its hip entered.
func proposed(t *testing.T, names ...string) (*desk, string) {
	d := newDesk(t)
	dir := filmsIn(t, names...)
	d.add([]string{dir})
	d.drain()
	d.fill("2004-01-01", "28", "8")
	d.drain()
	return d, dir
}

// fill enters the hip into the form that is shown.
func (d *desk) fill(surgery, head, liner string) {
	d.t.Helper()
	d.fillFor("T1", surgery, head, liner)
}

// fillFor is fill for films of a patient.
func (d *desk) fillFor(patient, surgery, head, liner string) {
	d.t.Helper()
	require.Equal(d.t, patient, onScreen[*field](d.win)[0].Text, "the film's patient code is proposed")
	d.put("Date of surgery", surgery)
	d.put("Head diameter", head)
	d.put("Liner thickness", liner)
	d.press("Use for this hip")
}

// The window with its title bar is whole on the smallest screen it is made for: every page
// fits in what that leaves.
func TestWindowFitsTheSmallestScreen(t *testing.T) {
	const usable = 690
	d, _ := accepted(t)
	fresh := bareWindow(fyne.CurrentApp(), d.s, func(func()) {})
	require.LessOrEqual(t, fresh.win.Canvas().Size().Height, float32(usable))
	fresh.win.Close()
	d.win.Resize(fyne.NewSize(1280, usable))
	for i, k := range d.kinds {
		d.bring(i)
		d.drain()
		require.LessOrEqual(t, d.win.Content().MinSize().Height, float32(usable), k.word)
		o := d.status.object
		require.LessOrEqual(t, o.Position().Y+o.Size().Height, float32(usable), k.word)
	}
}

func TestFirstScreenCautions(t *testing.T) {
	d := newDesk(t)
	require.True(t, d.first.object.Visible())
	require.False(t, d.films.object.Visible())
	text := ""
	for _, l := range onScreen[*widget.Label](d.win) {
		text += l.Text + "\n"
	}
	require.Contains(t, text, "not cleared for diagnosis")
	require.Contains(t, text, "a clinician reviews every reading")
}

func TestDropFormProposalAcceptTrend(t *testing.T) {
	d, dir := proposed(t, series...)
	require.Nil(t, d.win.Canvas().Overlays().Top(), "the form is closed")
	require.Equal(t, "proposed", d.films.strip.cards[0].Content().State)
	require.Equal(t, "4 weeks", d.films.strip.cards[0].Content().Line)
	require.Equal(t, "8.0 years", d.films.strip.cards[3].Content().Line)

	d.key(fyne.KeyReturn, false) // accept: who reads, and where to
	e := onScreen[*field](d.win)
	require.Len(t, e, 2)
	require.Equal(t, filepath.Join(dir, "T1.linerwatch"), e[1].Text)
	d.press("Save reading")
	require.Empty(t, d.saved(), "a reader's code is needed")
	e[0].SetText("R2")
	d.press("Save reading")
	d.opened()
	require.Len(t, d.saved(), 1)
	require.Equal(t, 1, d.s.Strip().SelectedIndex(), "on to the next film")
	for range 3 {
		d.key(fyne.KeyReturn, false)
	}
	require.Len(t, d.saved(), 4)
	require.Equal(t, "accepted, R2", d.films.strip.cards[3].Content().State)
	require.Equal(t, "Accepted", d.films.side.accept.Text)
	require.Equal(t, "0.100 mm/year", d.films.trend.tiles[0].value.Text)
	require.Contains(t, d.status.where.Text, "T1.linerwatch · reader R2")
}

func TestFormTellsFaultsBesideTheirFields(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	d.fill("2004-01-01", "2.8", "")
	require.NotNil(t, d.win.Canvas().Overlays().Top(), "the form stays")
	text := ""
	for _, l := range onScreen[*widget.Label](d.win) {
		if l.Importance == widget.DangerImportance {
			text += l.Text
		}
	}
	require.Equal(t, "a head diameter of 2.8 mm is outside 22 to 44 mm", text)
	d.press("Later")
	require.True(t, d.films.side.enter.Visible(), "there is a way back to the form")
}

func TestKeysEditAndUndo(t *testing.T) {
	d, _ := proposed(t, series...)
	f := d.s.Strip().Selected()
	x := f.Draft.Head.At.X
	d.key(fyne.KeyRight, false)
	d.key(fyne.KeyRight, true)
	require.InDelta(t, x+1.1, f.Draft.Head.At.X, 1e-9)
	d.drain()
	require.Equal(t, "edited", d.films.strip.cards[0].Content().State)
	d.letter('c')
	d.letter('+')
	require.InDelta(t, 125.1, f.Draft.Cup.At.R, 1e-9)
	d.win.Canvas().(interface{ TypedShortcut(fyne.Shortcut) }).TypedShortcut(&fyne.ShortcutUndo{})
	require.InDelta(t, 125, f.Draft.Cup.At.R, 1e-9)
	d.key(fyne.KeyPageDown, false)
	require.Equal(t, 1, d.s.Strip().SelectedIndex())
	d.key(fyne.KeyEnd, false)
	require.Equal(t, 3, d.s.Strip().SelectedIndex())
	d.letter('i')
	require.True(t, d.s.Strip().Selected().Level.Invert)
}

func TestLeavingWithChangesAsksOnce(t *testing.T) {
	d, _ := proposed(t, series...)
	d.key(fyne.KeyRight, false)
	closed := false
	d.leave(func() { closed = true })
	require.False(t, closed)
	d.press("Go back")
	d.leave(func() { closed = true })
	d.press("Keep it in a study …")
	d.press("Keep it")
	d.drain()
	require.True(t, closed)
	require.Len(t, d.files, 1)
	closed = false
	d.leave(func() { closed = true })
	d.press("Drop changes")
	require.True(t, closed)
}

func TestEnterGivesTheProposedAnswer(t *testing.T) {
	d, dir := proposed(t, series...)
	require.NoError(t, d.create(filepath.Join(dir, "s"+study.FileExt)))
	d.key(fyne.KeyRight, false)
	gone := false
	d.leave(func() { gone = true })
	require.True(t, d.covered())
	d.key(fyne.KeyReturn, false)
	require.False(t, d.covered())
	require.True(t, gone, "keeping the drafts is proposed")
	given := ""
	ask := func() {
		d.ask("Which?", "", answer{"this", func() { given += "this " }}, answer{"that", func() { given += "that " }})
	}
	ask()
	d.key(fyne.KeyReturn, false)
	require.False(t, d.covered())
	ask()
	d.key(fyne.KeyEscape, false)
	require.False(t, d.covered())
	require.Nil(t, d.top().proposed, "a question that is gone proposes nothing")
	require.Equal(t, "that ", given)
}

func TestFolderWithoutAReadableFilmSaysWhy(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, "no-film.dcm")})
	d.drain()
	require.Contains(t, shownText(d), "0 files opened. 1 could not be read.")
	require.Empty(t, d.s.Strip().Films())
}

// A film without a hip stays in the strip with a way on. A file that cannot be read is no film:
// among films it stood in the reader's way at each step through the strip. It stands in what
// was opened, with its reason, and can be tried again.
func TestFaultsAreToldWithAWayOn(t *testing.T) {
	d, _ := proposed(t, "2004-02-01.dcm", "2013-01-01.dcm")
	dir := filmsIn(t, "a-very-long-name-of-a-file-that-is-no-film.dcm")
	d.add([]string{dir})
	d.drain()
	require.Contains(t, shownText(d), "1 could not be read.")
	require.Contains(t, study.NoteWords(d.s.Intake().Found().Faults[0].Why), "malformed: no film")
	times := d.s.Intake().Found().Time
	d.press("Try again")
	d.drain()
	require.Equal(t, times+1, d.s.Intake().Found().Time, "and is told again")
	d.press("Go on")
	require.Len(t, d.s.Strip().Films(), 2)
	require.Equal(t, "not found", d.films.strip.cards[1].Content().State)
	d.s.Strip().Select(1)
	d.drain()
	require.Contains(t, d.films.side.message.Text, "the film shows no hip")
	require.Contains(t, d.films.side.message.Text, "A head of 28 mm was looked for")
	require.True(t, d.films.side.hand.Visible())
}

func TestStudyThatIsNoneIsTold(t *testing.T) {
	d := newDesk(t)
	dir := filmsIn(t, "bad.linerwatch")
	d.add([]string{filepath.Join(dir, "bad.linerwatch")})
	d.opened()
	require.Contains(t, shownText(d), "not a study file (bad.linerwatch)")
	d.press("Close")
	require.True(t, d.first.object.Visible())
}

func TestStudyBesideTheFilmsIsOffered(t *testing.T) {
	d := newDesk(t)
	dir := filmsIn(t, append([]string{"hip.linerwatch"}, series...)...)
	d.files[filepath.Join(dir, "hip.linerwatch")] = new(storetest.Memory)
	d.add([]string{dir})
	d.press("Open the study")
	d.drain()
	require.Equal(t, filepath.Join(dir, "hip.linerwatch"), d.s.Book().Path())

	d = newDesk(t)
	d.add([]string{dir})
	d.press("Only the films")
	d.drain()
	require.Empty(t, d.s.Book().Path())
	require.Len(t, d.s.Strip().Films(), 4)
}

func TestChartPointOpensItsFilm(t *testing.T) {
	d, _ := proposed(t, series...)
	d.films.trend.draw(800, 220, 1)
	require.Len(t, d.films.trend.points, 4)
	p := d.films.trend.points[2]
	require.True(t, d.films.trend.hover(p.X+2, p.Y-2))
	require.Contains(t, d.films.trend.over.Text, "2008-01-01")
	d.films.trend.tap(p.X+2, p.Y-2)
	require.Equal(t, 2, d.s.Strip().SelectedIndex())
	require.False(t, d.films.trend.hover(p.X, p.Y+60))
}

func TestSceneShowsOutlinesAndPenetration(t *testing.T) {
	d, _ := proposed(t, series...)
	d.s.Strip().Select(3)
	sc := scene(d.s, layers{outlines: true, edges: true}, 800, 600, 1)
	require.Len(t, sc.Rings, 3, "cup, head, and the head's place at the baseline")
	require.Len(t, sc.Arrows, 1)
	// Eight years at half a pixel a year, upwards, ten times as long.
	require.InDelta(t, -40, sc.Arrows[0].DY, 1e-6)
	require.InDelta(t, 0, sc.Arrows[0].DX, 1e-6)
	require.Equal(t, "0.80 mm, drawn ×10", sc.Arrows[0].Label)
	require.InDelta(t, 20/0.2, sc.Bar.Length, 1e-6, "20 mm at 0.2 mm per pixel")
	require.Empty(t, scene(d.s, layers{}, 800, 600, 1).Rings)
}

func edgeAt(x, y, angle float64) measure.Edge {
	return measure.Edge{Point: measure.Point{X: x, Y: y}, Angle: angle}
}
