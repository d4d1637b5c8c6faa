package storetest

import (
	"context"
	"math"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// Run tests a store. open returns an empty study each time; Run closes it.
func Run(t *testing.T, open func(t *testing.T) study.Store) {
	t.Helper()
	for _, c := range []struct {
		name string
		test func(t *testing.T, st study.Store)
	}{
		{"hips are saved by revision", hips},
		{"hips get an ID", hipIDs},
		{"a lost update is a conflict", conflicts},
		{"films are saved by revision", films},
		{"a picture is one film", doubles},
		{"films are added together", addsFilms},
		{"a film moves", moves},
		{"a film is one of two hips", links},
		{"films of no hip", unsorted},
		{"films are dropped", drops},
		{"readings are kept whole", readings},
		{"readings are refused", refusals},
		{"readings come after one another", nextReadings},
		{"withdrawals", withdrawals},
		{"drafts", drafts},
		{"exclusions", exclusions},
		{"reading lists", lists},
		{"one list of a reader", oneList},
		{"drafts of a list", listDrafts},
		{"readings of a list", listed},
		{"what a list does not ask for", unasked},
		{"settings", settings},
		{"patients and sites are saved by revision", patients},
		{"a site is part of a hip", siteOfHips},
		{"events", events},
		{"grades", grades},
		{"variables and values", variables},
		{"entered together", enters},
		{"every change is in the trail", trail},
		{"records", records},
		{"a record has the edge points that a trend may need", rereads},
		{"a record has those that another head asks for", anew},
		{"a study is saved as another", saveAs},
		{"what has ended writes nothing", ended},
		{"several at once", together},
	} {
		t.Run(c.name, func(t *testing.T) {
			st := open(t)
			c.test(t, st)
			require.NoError(t, st.Close())
		})
	}
}

// By is who the tests say has saved.
var by = study.Stamp{Reader: "R1", At: time.Date(2026, 3, 1, 12, 30, 15, 123456789, time.UTC), Version: "0.1"}

func day(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err) // a test's own mistake
	}
	return d
}

// Hip returns a hip with every detail, not saved.
func Hip() study.Hip {
	return study.Hip{Patient: "P-017", Side: study.Right, Surgery: day("2004-05-03"), Group: "trial arm B",
		Implant:    study.Implant{HeadMM: 28, LinerMM: 6.2, PE: "XLPE", HeadMaterial: "alumina", ShellMM: 52, Fixation: "uncemented"},
		StartYears: 1.5, Baseline: "F1", BeamOff: true}
}

// Film returns a film with every detail, not saved; name tells it from others.
func Film(name, date string) study.Film {
	return study.Film{Path: "films/" + name + ".dcm",
		Facts: study.Facts{SHA256: "sha-" + name, PixelKey: "key-" + name, Patient: "P-017", Date: day(date), Side: study.Right,
			View: study.AP, Width: 2400, Height: 2880, SpacingMM: 0.143, SpacingKind: "imager", SourceMM: 1150,
			Field: &study.Pixel{X: 1201, Y: 1440}, Axes: study.Axes{Head: "up", Front: "left", Obliquity: 10}},
		Given: study.Given{SourceMM: 1200, Center: &study.Pixel{X: 7.5, Y: 8}, View: study.AP,
			Axes: study.Axes{Head: "left", Front: "up", Obliquity: 45}}}
}

// Reading returns a measured reading of a hip on a film, with twelve edges an outline.
func Reading(id string, h study.Hip, f study.Film) study.Reading {
	outline := func(x, y, r float64) (o study.Outline) {
		o.Circle = study.Circle{X: x, Y: y, R: r}
		o.Cov = [3][3]float64{{0.01, 0.001, 0}, {0.001, 0.02, 0}, {0, 0, 0.005}}
		o.Arc, o.RMS, o.Contrast = 300, 0.25, 12.5
		for a := 0.0; a < 360; a += 30 {
			sin, cos := math.Sincos(a * math.Pi / 180)
			e := study.Edge{Angle: a, Residual: 0.25, Strength: 90.5, SD: 0.125}
			e.X, e.Y = x+(r+0.25)*cos, y+(r+0.25)*sin
			if a == 90 {
				e.Reject = "no edge"
			} else {
				o.Points, o.Residuals = append(o.Points, e.Point), append(o.Residuals, e.Residual)
			}
			o.Edges = append(o.Edges, e)
		}
		return o
	}
	g := study.Reading{ID: id, HipID: h.ID, FilmID: f.ID, Reader: "R2", At: by.At, Version: "0.1"}
	g.Film, g.Status, g.Side, g.HeadMM, g.CupKind = f, study.Measured, h.Side, 28, study.Shell
	g.Head, g.Cup = outline(800, 900, 105), outline(801, 902, 190)
	g.Measurement.Reading.Scale = 0.133
	g.Measurement.Reading.Offset.Superior = 0.2
	g.Warnings = []study.Warning{{Code: "x", Text: "short arc"}}
	return g
}

// saved returns a hip and a film of it, saved.
func saved(t *testing.T, st study.Store) (study.Hip, study.Film) {
	t.Helper()
	h, err := st.SaveHip(t.Context(), Hip(), by)
	require.NoError(t, err)
	return h, addFilm(t, st, h, Film("a", "2004-06-14"))
}

// addFilm saves a film as one of h.
func addFilm(t *testing.T, st study.Store, h study.Hip, f study.Film) study.Film {
	t.Helper()
	f, err := st.SaveFilm(t.Context(), f, by)
	require.NoError(t, err)
	require.NoError(t, st.SaveLink(t.Context(), study.Link{HipID: h.ID, FilmID: f.ID}, by))
	return f
}

func hips(t *testing.T, st study.Store) {
	ctx := t.Context()
	list, err := st.Hips(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	left := study.Hip{Patient: "P-017", Side: study.Left}
	first := study.Hip{Patient: "A"}
	var want []study.Hip
	for _, h := range []study.Hip{left, Hip(), first} {
		got, err := st.SaveHip(ctx, h, by)
		require.NoError(t, err)
		require.NotEmpty(t, got.ID)
		h.ID, h.Revision = got.ID, 1
		require.Equal(t, h, got)
		want = append([]study.Hip{got}, want...)
	}
	list, err = st.Hips(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, list, "in order of patient and side")

	h := want[1]
	before := h
	h.Side, h.Implant.LinerMM, h.Surgery = study.Left, 0, time.Time{}
	later := study.Stamp{Reader: "R2", At: by.At.Add(time.Hour), Version: "0.2"}
	h, err = st.SaveHip(ctx, h, later)
	require.NoError(t, err)
	assert.Equal(t, 2, h.Revision)
	assert.Equal(t, before.ID, h.ID, "the ID stays when the side is corrected")
	changes, err := st.HipChanges(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.HipChange{{Stamp: by}, {Stamp: later, Before: before}}, changes)
	none, err := st.HipChanges(ctx, "H999")
	require.NoError(t, err)
	assert.Empty(t, none)
}

func hipIDs(t *testing.T, st study.Store) {
	ctx := t.Context()
	seen := map[string]bool{}
	given := Hip()
	given.ID = "H2"
	_, err := st.SaveHip(ctx, given, by)
	require.NoError(t, err, "an ID of one's own")
	seen["H2"] = true
	for range 12 {
		h, err := st.SaveHip(ctx, Hip(), by)
		require.NoError(t, err)
		assert.False(t, seen[h.ID], "%s was given twice", h.ID)
		assert.LessOrEqual(t, len(h.ID), 4)
		seen[h.ID] = true
	}
}

func conflicts(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	mine, theirs := h, h
	theirs.Implant.LinerMM, theirs.Implant.PE = 8.5, "conventional"
	theirs, err := st.SaveHip(ctx, theirs, by)
	require.NoError(t, err)
	mine.Group = "A"
	_, err = st.SaveHip(ctx, mine, by)
	var conflict *study.ConflictError
	require.ErrorAs(t, err, &conflict)
	assert.Equal(t, &study.ConflictError{Mine: mine, Theirs: theirs}, conflict)
	assert.NotContains(t, err.Error(), "\n")
	list, err := st.Hips(ctx)
	require.NoError(t, err)
	assert.Equal(t, []study.Hip{theirs}, list, "nothing was written")
	changes, err := st.HipChanges(ctx, h.ID)
	require.NoError(t, err)
	assert.Len(t, changes, 2, "nor noted")

	again := h
	again.Revision = 0
	_, err = st.SaveHip(ctx, again, by)
	require.ErrorAs(t, err, &conflict, "an ID that exists is not a new hip")
	unknown := h
	unknown.ID = "H999"
	_, err = st.SaveHip(ctx, unknown, by)
	require.ErrorIs(t, err, study.ErrUnknown)

	g := f
	g.Given.SourceMM = 1000
	g, err = st.SaveFilm(ctx, g, by)
	require.NoError(t, err)
	f.Given.View = study.Lateral
	_, err = st.SaveFilm(ctx, f, by)
	require.ErrorAs(t, err, &conflict)
	assert.Equal(t, &study.ConflictError{Mine: f, Theirs: g}, conflict)
	films, err := st.Films(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.Film{g}, films)
}

func saveAs(t *testing.T, st study.Store) {
	saved(t, st)
	path := filepath.Join(t.TempDir(), "other.study")
	require.NoError(t, st.SaveAs(t.Context(), path))
	require.Error(t, st.SaveAs(t.Context(), path), "nothing that exists is replaced")
	require.NoError(t, st.Check(t.Context()))
}

func ended(t *testing.T, st study.Store) {
	h, f := saved(t, st)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	h.Group = "C"
	_, err := st.SaveHip(ctx, h, by)
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorIs(t, st.AddReading(ctx, Reading("r1", h, f)), context.Canceled)
	_, err = st.Hips(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorIs(t, st.Records(ctx, func(study.Record) error { return nil }), context.Canceled)
	list, err := st.Hips(t.Context())
	require.NoError(t, err)
	require.Equal(t, "trial arm B", list[0].Group)
}

func together(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	const each = 8
	errs := make(chan error, 4*each)
	var wg sync.WaitGroup
	for _, name := range []string{"a", "b"} {
		wg.Go(func() {
			for i := range each {
				errs <- st.AddReading(ctx, Reading(name+string(rune('0'+i)), h, f))
			}
		})
		wg.Go(func() {
			for range each {
				errs <- st.Records(ctx, func(r study.Record) error {
					_, err := st.Points(ctx, "a0") // a store may be asked meanwhile
					_ = err                        // may not be there yet
					return nil
				})
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		require.NoError(t, err)
	}
	list, err := st.Readings(ctx, h.ID)
	require.NoError(t, err)
	assert.Len(t, list, 2*each)
}
