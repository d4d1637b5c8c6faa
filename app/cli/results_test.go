package cli_test

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/cli"
	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// results are the words of scripts about results:
//
//	accept S.linerwatch R1 FILM...   a study of a right hip with a head of 28 mm, its films
//	                                 measured and accepted as they are
//	agrees S.linerwatch R2           R2 reads all films of the first hip as they were read before
//	correct S.linerwatch R1 FILM 2   the cup of R1's last reading 2 px to the right
//	remove FILE                      there is no such file any more
//	holds DIR 3                      a folder has that many files
func (s *script) results(at, word string, f []string) bool {
	switch word {
	case "study":
		makeStudy(s.t, f[0])
	case "accept":
		s.accept(at, f[0], f[1], f[2:])
	case "agrees":
		s.agrees(at, f[0], f[1])
	case "correct":
		s.correct(at, f)
	case "holds":
		files, err := os.ReadDir(f[0])
		require.NoError(s.t, err, at)
		require.Equal(s.t, f[1], strconv.Itoa(len(files)), "%s: %v", at, files)
	case "remove":
		require.NoError(s.t, os.Remove(f[0]), at)
	default:
		return false
	}
	return true
}

func (s *script) accept(at, file, reader string, films []string) {
	t, ctx := s.t, s.t.Context()
	ms, err := batch.Measure(ctx, films, batch.MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
	require.NoError(t, err, at)
	st, err := store.Create(file)
	require.NoError(t, err, at)
	by := study.Stamp{Reader: reader}
	h, err := st.SaveHip(ctx, study.Hip{Patient: "Q7-001", Side: study.Right, Surgery: day("2004-05-03"), Implant: study.Implant{HeadMM: 28}}, by)
	require.NoError(t, err, at)
	for i, m := range ms {
		require.Equal(t, study.Measured, m.Status, "%s: %s", at, study.NoteWords(m.Reason))
		m.Film.ID = ""
		m.Film, err = st.SaveFilm(ctx, m.Film, by)
		require.NoError(t, err, at)
		require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: m.Film.ID}, by), at)
		require.NoError(t, st.AddReading(ctx, study.Reading{ID: fmt.Sprint("r", i), HipID: h.ID, FilmID: m.Film.ID, Reader: reader,
			At: time.Date(2026, 1, 1, i, 0, 0, 0, time.UTC), Version: "test", Measurement: m}), at)
	}
	require.NoError(t, st.Close(), at)
}

func (s *script) agrees(at, file, reader string) {
	t, ctx := s.t, s.t.Context()
	st, err := store.Files().Open(ctx, file, nil)
	require.NoError(t, err, at)
	hips, err := st.Hips(ctx)
	require.NoError(t, err, at)
	r, err := st.Record(ctx, hips[0].ID)
	require.NoError(t, err, at)
	for _, g := range r.Readings {
		p, err := st.Points(ctx, g.ID)
		require.NoError(t, err, at)
		g = g.With(p)
		g.ID, g.Reader, g.At = g.ID+reader, reader, g.At.AddDate(0, 0, 1)
		require.NoError(t, st.AddReading(ctx, g), at)
	}
	require.NoError(t, st.Close(), at)
}

func (s *script) correct(at string, f []string) {
	t, ctx := s.t, s.t.Context()
	by, err := strconv.ParseFloat(f[3], 64)
	require.NoError(t, err, at)
	st, err := store.Files().Open(ctx, f[0], nil)
	require.NoError(t, err, at)
	hips, err := st.Hips(ctx)
	require.NoError(t, err, at)
	r, err := st.Record(ctx, hips[0].ID)
	require.NoError(t, err, at)
	for _, film := range r.Films {
		if !film.Is(f[2]) {
			continue
		}
		g := *r.Standing(film.ID, f[1])
		g.ID, g.Supersedes = g.ID+"+", g.ID
		g.Cup.X += by
		g.Measurement, err = g.Read(g.How)
		require.NoError(t, err, at)
		require.NoError(t, st.AddReading(ctx, g), at)
	}
	require.NoError(t, st.Close(), at)
}

// A hip is named by its code or, where it is the only one that is called so, by its label.
func TestResultsByLabel(t *testing.T) {
	t.Chdir(t.TempDir())
	makeStudy(t, "s.linerwatch")
	run := func() (code int, stdout, stderr string) {
		var out, errs bytes.Buffer
		code = cli.Run(t.Context(), []string{"results", "s.linerwatch", "--hip", "Q7-001 right", "--out", "r"},
			cli.Env{Stdout: &out, Stderr: &errs, Now: time.Now, Studies: store.Files()})
		return code, out.String(), errs.String()
	}
	code, out, _ := run()
	require.Equal(t, 1, code)
	require.Contains(t, out, "its file is not where it was last")
	require.Contains(t, out, "not written: a reader left it out")
	st, err := store.Files().Open(t.Context(), "s.linerwatch", nil)
	require.NoError(t, err)
	_, err = st.SaveHip(t.Context(), study.Hip{Patient: "Q7-001", Side: study.Right, Surgery: day("2004-05-03"), Implant: study.Implant{HeadMM: 28}}, study.Stamp{Reader: "R1"})
	require.NoError(t, err)
	require.NoError(t, st.Close())
	code, _, errs := run()
	require.Equal(t, 2, code)
	require.Equal(t, "linerwatch: results: 2 hips are called \"Q7-001 right\"; name it by its code\n", errs)
}
