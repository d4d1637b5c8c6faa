package batch

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
	"linerwatch/measure"
)

// accepted is the record of a right hip with a head of 28 mm on films in files, each read
// by R1 on the same day.
func accepted(t *testing.T, paths ...string) study.Record {
	t.Helper()
	r := study.Record{Hip: study.Hip{ID: "H1", Patient: "Q7-001", Side: study.Right, Surgery: date("2004-05-03"), Implant: study.Implant{HeadMM: 28}}}
	ms, err := Measure(t.Context(), paths, MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
	require.NoError(t, err)
	for i, m := range ms {
		require.Equal(t, study.Measured, m.Status, study.NoteWords(m.Reason))
		m.Film.ID = []string{"F1", "F2", "F3"}[i]
		r.Films = append(r.Films, m.Film)
		r.Readings = append(r.Readings, study.Reading{ID: "r" + m.Film.ID, HipID: "H1", FilmID: m.Film.ID, Reader: "R1",
			At: time.Date(2026, 11, 3, 9, 30, 1, 5, time.UTC), Version: "0.8", Measurement: m})
	}
	return r
}

func date(s string) time.Time {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return d
}

// save writes a file that is not there yet.
func save(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}

func options(out string) ResultOptions {
	return ResultOptions{Out: out, Version: "0.9", Now: time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC), Save: save}
}

// reportOf reads the report of a film.
func reportOf(t *testing.T, out, name string) (result.Report, result.Instance) {
	t.Helper()
	r, is, err := reportAt(filepath.Join(out, name))
	require.NoError(t, err)
	return r, is
}

// filmFile writes a film of a date and returns its path.
func filmFile(t *testing.T, dir, name, day string, f *dicomio.Film) string {
	t.Helper()
	g := *f
	g.Date, g.DateSource = date(day), "study"
	path := filepath.Join(dir, name)
	require.NoError(t, dicomio.WriteFile(path, &g))
	return path
}

// Outlines are told in the pixels of the file, however it holds the film. The outlines of
// three files of one picture are those of the upright one with square pixels, taken there
// by hand; they may differ by what the search finds on a picture resampled, 0.3 px.
func TestResultsAreInTheFilesPixels(t *testing.T) {
	f, dir, out := phantomFilm(t), t.TempDir(), t.TempDir()
	oblong := broad(f, 1.25)
	lies := lying(oblong)
	r := accepted(t, filmFile(t, dir, "a.dcm", "2004-06-14", f), filmFile(t, dir, "b.dcm", "2005-06-14", oblong), filmFile(t, dir, "c.dcm", "2006-06-14", lies))
	done, err := Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	require.Len(t, done, 3)
	head := r.Readings[0].Head
	for i, want := range []result.Outline{
		{X: head.X, Y: head.Y, A: head.R, B: head.R},
		{X: head.X / 1.25, Y: head.Y, A: head.R, B: head.R / 1.25, Angle: 90},
		{X: head.Y, Y: head.X / 1.25, A: head.R, B: head.R / 1.25},
	} {
		require.True(t, done[i].Fault.IsZero(), study.NoteWords(done[i].Fault))
		name := []string{"H1-20040614", "H1-20050614", "H1-20060614"}[i]
		require.Equal(t, []string{name + "-picture.dcm", name + "-outlines.dcm", name + "-report.dcm"}, done[i].Files)
		got, _ := reportOf(t, out, name+"-report.dcm")
		o := got.Groups[0].Outline
		for k, d := range []float64{o.X - want.X, o.Y - want.Y, o.A - want.A, o.B - want.B} {
			assert.InDelta(t, 0, d, 0.3, "%s, %d", name, k)
		}
		if i > 0 {
			turn := o.Angle - want.Angle
			assert.InDelta(t, 0, turn-180*float64(int(turn/170)), 0.5, name)
		}
		state, err := dicomio.ReadItem(filepath.Join(out, name+"-outlines.dcm"))
		require.NoError(t, err)
		assert.Equal(t, []float64{float64([]*dicomio.Film{f, oblong, lies}[i].Pixels.Rect.Dx()), float64([]*dicomio.Film{f, oblong, lies}[i].Pixels.Rect.Dy())},
			state.Item(0x0070005A).Numbers(0x00700053))
		assert.Equal(t, []string{"", "", "Y"}[i], state.Text(0x00700041))
		assert.Equal(t, [][]float64{nil, nil, {90}}[i], state.Numbers(0x00700042))
		assert.Equal(t, [][]float64{{1, 1}, {4, 5}, {5, 4}}[i], state.Item(0x0070005A).Numbers(0x00700102))
	}
}

// numberOf returns the number of a concept.
func numberOf(t *testing.T, r result.Report, of result.Code) result.Number {
	t.Helper()
	for _, g := range r.Groups {
		for _, n := range g.Numbers {
			if n.Of == of {
				return n
			}
		}
	}
	t.Fatalf("no %s", of.Meaning)
	return result.Number{}
}

// twoFilms are two files of one hip, which are measured a little apart.
func twoFilms(t *testing.T) []string {
	t.Helper()
	f, dir := phantomFilm(t), t.TempDir()
	return []string{filmFile(t, dir, "a.dcm", "2004-06-14", f), filmFile(t, dir, "b.dcm", "2009-06-14", broad(f, 1.1))}
}

// The numbers of a report are those of the trend that the window and the tables show.
func TestResultsAreThoseOfTheTrend(t *testing.T) {
	r, out := accepted(t, twoFilms(t)...), t.TempDir()
	_, err := Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	trend, err := r.Trend(study.Anyone)
	require.NoError(t, err)
	first, _ := reportOf(t, out, "H1-20040614-report.dcm")
	last, _ := reportOf(t, out, "H1-20090614-report.dcm")
	m, p := trend.Films[1], trend.Penetration[1]
	superior, medial := p.SE()
	for _, c := range []struct {
		of        result.Code
		value, se float64
		unit      result.Code
	}{
		{result.Diameter, 28, 0, result.Millimetres},
		{result.Scale, m.Reading.Scale, m.Reading.SEScale, result.PerPixel},
		{result.Superior, m.Reading.Offset.Superior, 0, result.Millimetres},
		{result.Eccentricity, m.Reading.Eccentricity, m.Reading.SEEccentricity, result.NoUnit},
		{result.Thinnest, m.Reading.Thinnest, m.Reading.SEThinnest, result.Millimetres},
		{result.MovedSuperior, p.Superior, superior, result.Millimetres},
		{result.MovedMedial, p.Medial, medial, result.Millimetres},
	} {
		n := numberOf(t, last, c.of)
		assert.Equal(t, c.value, n.Value, c.of.Meaning)
		assert.Equal(t, c.unit, n.Unit, c.of.Meaning)
		if c.se > 0 {
			assert.Equal(t, c.se, n.SE, c.of.Meaning)
		}
	}
	assert.Equal(t, date("2004-06-14"), numberOf(t, last, result.MovedSuperior).Since)
	for _, g := range first.Groups {
		for _, n := range g.Numbers {
			assert.NotEqual(t, result.MovedSuperior, n.Of, "the baseline film has no penetration")
		}
	}
	assert.Equal(t, "R1", last.Reader)
	assert.Equal(t, "rF2", last.Reading)
	assert.Equal(t, time.Date(2026, 11, 3, 9, 30, 1, 0, time.UTC), last.Read)
}

// What is there already stays; a corrected reading has a report that names the one before.
func TestResultsOfACorrectedReading(t *testing.T) {
	r, out := accepted(t, twoFilms(t)...), t.TempDir()
	opt := options(out)
	write := func() []study.Written {
		done, err := Results(t.Context(), r, opt, nil)
		require.NoError(t, err)
		return done
	}
	write()
	_, before := reportOf(t, out, "H1-20090614-report.dcm")
	opt.Now, opt.Version = opt.Now.Add(time.Hour), "1.0"
	again := write()
	assert.Empty(t, again[0].Files)
	assert.Empty(t, again[1].Files)
	assert.Equal(t, []string{"nothing new: H1-20090614-report.dcm says it already"}, study.NotesWords(again[1].Notes))

	change := func(id string, by float64) {
		g := r.Readings[1]
		g.ID, g.Supersedes = id, g.ID
		g.Cup.X += by
		m, err := g.Read(g.How)
		require.NoError(t, err)
		g.Measurement = m
		r.Readings = append(r.Readings, g)
	}
	change("later", 2)
	assert.Equal(t, []string{"H1-20090614-2-picture.dcm", "H1-20090614-2-outlines.dcm", "H1-20090614-2-report.dcm"}, write()[1].Files)
	second, is := reportOf(t, out, "H1-20090614-2-report.dcm")
	assert.Equal(t, []result.Instance{before}, second.Earlier)
	assert.Equal(t, "later", second.Reading)
	change("back", 0)
	assert.Equal(t, []string{"H1-20090614-3-picture.dcm", "H1-20090614-3-outlines.dcm", "H1-20090614-3-report.dcm"}, write()[1].Files)
	third, _ := reportOf(t, out, "H1-20090614-3-report.dcm")
	assert.Equal(t, []result.Instance{is}, third.Earlier, "the latest, not the one that says the same")
	assert.Empty(t, write()[1].Files)

	r.Readings = append(r.Readings, r.Readings[len(r.Readings)-1])
	r.Readings[len(r.Readings)-1].Reader = "R2"
	write()
	other, _ := reportOf(t, out, "H1-20090614-4-report.dcm")
	assert.Empty(t, other.Earlier, "another reader corrects nothing")
}

// Of a film whose identity is not to be had nothing is written, and the reason is told.
func TestFilmsWithoutResults(t *testing.T) {
	const name = "H1-20040614-report.dcm"
	f := phantomFilm(t)
	path := filmFile(t, t.TempDir(), "a.dcm", "2004-06-14", f)
	read := accepted(t, path)
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	for what, c := range map[string]struct {
		change      func(t *testing.T, r *study.Record, path, out string)
		fault, note string
	}{
		"file gone": {func(t *testing.T, _ *study.Record, path, _ string) { require.NoError(t, os.Remove(path)) },
			"its file is not where it was last, and only the file says which film of the archive it is", ""},
		"another picture": {func(t *testing.T, _ *study.Record, path, _ string) {
			require.NoError(t, dicomio.WriteFile(path, broad(f, 1.3)))
		}, "its file holds another picture than the one that was read", ""},
		"a picture without identity": {func(t *testing.T, r *study.Record, path, _ string) {
			png, err := os.Create(path + ".png")
			require.NoError(t, err)
			require.NoError(t, StoredPNG(path, 1, png))
			require.NoError(t, png.Close())
			f, err := source.Open(path+".png", time.Time{})
			require.NoError(t, err)
			r.Films[0].Path, r.Films[0].Facts = path+".png", source.FactsOf(f)
		}, "PNG; only DICOM films say who they are of", ""},
		"no report there": {func(t *testing.T, _ *study.Record, _, out string) {
			require.NoError(t, os.WriteFile(filepath.Join(out, name), []byte("mine"), 0o600))
		}, name + " is there and is no report of this program: move it away, or choose another folder", ""},
		"another patient's": {func(_ *testing.T, r *study.Record, _, _ string) {
			r.Films[0].Facts.Patient = "Q7-002"
			r.Readings[0].Film = r.Films[0]
		},
			`nothing goes to an archive before that is settled: the hip and a.dcm: mixed patients: "Q7-001" against "Q7-002"`, ""},
		"left out": {func(_ *testing.T, r *study.Record, _, _ string) {
			r.Exclusions = append(r.Exclusions, study.Exclusion{FilmID: "F1", Code: "other"})
		}, "", "not written: a reader left it out"},
		"taken back": {func(_ *testing.T, r *study.Record, _, _ string) {
			r.Readings[0].Withdrawn = &study.Withdrawal{}
		}, "", "not written: no reading counts, and nothing was looked for yet"},
		"a lateral film": {func(_ *testing.T, r *study.Record, _, _ string) { r.Films[0].Given.View = study.Lateral },
			"", "not written: of lateral films nothing is written yet"},
	} {
		t.Run(what, func(t *testing.T) {
			path, out := filepath.Join(t.TempDir(), "a.dcm"), t.TempDir()
			require.NoError(t, os.WriteFile(path, file, 0o600))
			r := read
			r.Films, r.Readings = slices.Clone(read.Films), slices.Clone(read.Readings)
			r.Films[0].Path, r.Readings[0].Film.Path = path, path
			c.change(t, &r, path, out)
			before, err := os.ReadDir(out)
			require.NoError(t, err)
			done, err := Results(t.Context(), r, options(out), nil)
			require.NoError(t, err)
			require.Len(t, done, 1)
			fault := study.NoteWords(done[0].Fault)
			assert.Contains(t, fault, c.fault)
			assert.Equal(t, c.fault == "", fault == "", fault)
			if c.note != "" {
				assert.Equal(t, []string{c.note}, study.NotesWords(done[0].Notes))
			}
			assert.Empty(t, done[0].Files)
			after, err := os.ReadDir(out)
			require.NoError(t, err)
			assert.Equal(t, len(before), len(after))
		})
	}
}

// A disk that is full leaves no report: what has one is whole.
func TestResultsThatCannotBeSaved(t *testing.T) {
	path := filmFile(t, t.TempDir(), "a.dcm", "2004-06-14", phantomFilm(t))
	r, out := accepted(t, path), t.TempDir()
	opt := options(out)
	n := 0
	opt.Save = func(path string, write func(io.Writer) error) error {
		if n++; n == 3 {
			return errors.New("no space left on device")
		}
		return save(path, write)
	}
	done, err := Results(t.Context(), r, opt, nil)
	require.NoError(t, err)
	assert.Equal(t, "no space left on device", study.NoteWords(done[0].Fault))
	assert.Equal(t, []string{"H1-20040614-picture.dcm", "H1-20040614-outlines.dcm"}, done[0].Files)
	done, err = Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	assert.Equal(t, []string{"H1-20040614-2-picture.dcm", "H1-20040614-2-outlines.dcm", "H1-20040614-2-report.dcm"}, done[0].Files)
}

// What was written of a reading that is taken back is rejected once, all three objects of
// it; where the reading stands again its report is written anew, and names the one before it.
func TestWithdrawnReadingIsRejected(t *testing.T) {
	r, out := accepted(t, twoFilms(t)...), t.TempDir()
	write := func() study.Written {
		t.Helper()
		done, err := Results(t.Context(), r, options(out), nil)
		require.NoError(t, err)
		require.True(t, done[0].Fault.IsZero(), study.NoteWords(done[0].Fault))
		return done[0]
	}
	first := write()
	r.Readings[0].Withdrawn = &study.Withdrawal{ReadingID: "rF1", Reader: "R2"}
	require.NoError(t, os.Remove(r.Films[0].Path)) // the report says whose it is
	done := write()
	assert.Equal(t, []string{"H1-20040614-withdrawn.dcm"}, done.Files)
	assert.Equal(t, []string{"not written: no reading counts, and nothing was looked for yet", "a reading was withdrawn: H1-20040614-withdrawn.dcm has the archive reject what was written of it"}, study.NotesWords(done.Notes))
	i, err := dicomio.ReadItem(filepath.Join(out, "H1-20040614-withdrawn.dcm"))
	require.NoError(t, err)
	assert.Equal(t, "113001", i.Item(0x0040A043).Text(0x00080100))
	_, is := reportOf(t, out, "H1-20040614-report.dcm")
	assert.Equal(t, is.Study, i.Text(0x0020000D))
	var want, got []string
	for _, name := range first.Files {
		of, err := dicomio.ReadItem(filepath.Join(out, name))
		require.NoError(t, err)
		want = append(want, of.Text(0x00080018))
	}
	for _, series := range i.Item(0x0040A375).Items(0x00081115) {
		for _, one := range series.Items(0x00081199) {
			got = append(got, one.Text(0x00081155))
		}
	}
	assert.ElementsMatch(t, want, got)
	again := write()
	assert.Empty(t, again.Files)
	assert.True(t, again.There)
}

func TestReadingThatStandsAgainIsWrittenAnew(t *testing.T) {
	r, out := accepted(t, twoFilms(t)[:1]...), t.TempDir()
	for _, step := range []struct {
		back *study.Withdrawal
		want []string
	}{
		{nil, []string{"H1-20040614-picture.dcm", "H1-20040614-outlines.dcm", "H1-20040614-report.dcm"}},
		{&study.Withdrawal{ReadingID: "rF1", Reader: "R1"}, []string{"H1-20040614-withdrawn.dcm"}},
		{nil, []string{"H1-20040614-2-picture.dcm", "H1-20040614-2-outlines.dcm", "H1-20040614-2-report.dcm"}},
		{nil, nil},
	} {
		r.Readings[0].Withdrawn = step.back
		done, err := Results(t.Context(), r, options(out), nil)
		require.NoError(t, err)
		assert.Equal(t, step.want, done[0].Files)
	}
	_, before := reportOf(t, out, "H1-20040614-report.dcm")
	last, is := reportOf(t, out, "H1-20040614-2-report.dcm")
	assert.Equal(t, []result.Instance{before}, last.Earlier)
	assert.NotEqual(t, before.UID, is.UID)
}
