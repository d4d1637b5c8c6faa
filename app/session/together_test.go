package session

import (
	"context"
	"image"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// hipOf is the test hip of another patient.
func hipOf(patient string) study.Hip {
	h := hip()
	h.ID, h.Patient = "", patient
	return h
}

// Two windows that make the reader's study at the same moment end in one, with the films
// of both.
func TestTwoWindowsMakeOneStudy(t *testing.T) {
	a, path := owned(t)
	c, _ := owned(t)
	for _, w := range []*bench{a, c} {
		w.cfg.Studies, w.cfg.StudyPath = store.Files(), path
	}
	films := map[*bench][]string{a: a.folder("T1-R", "2004-03-01", "2006-03-01"), c: c.folder("T2-R", "2005-05-01")}
	var once sync.Once
	a.cfg.Studies.Create = func(path string) (study.Store, error) {
		once.Do(func() { // there was none when the first looked, and now there is
			c.strip.Add(films[c])
			c.drain()
		})
		return store.Files().Create(path)
	}
	a.strip.Add(films[a])
	a.drain()
	require.Equal(t, path, a.book.Path())
	require.Equal(t, path, c.book.Path())
	require.NoError(t, a.SetHip(hipOf("T1")))
	require.NoError(t, c.SetHip(hipOf("T2")))
	for _, w := range []*bench{a, c} {
		w.drain()
		w.waitSaved()
		require.NoError(t, w.Close())
	}

	st, err := store.Open(path)
	require.NoError(t, err)
	got := map[string]int{}
	require.NoError(t, st.Records(t.Context(), func(r study.Record) error { got[r.Hip.Label()] = len(r.Films); return nil }))
	require.Equal(t, map[string]int{"T1 right": 2, "T2 right": 1}, got)
	require.NoError(t, st.Close())
	beside, err := filepath.Glob(filepath.Join(filepath.Dir(films[a][0]), "*"+study.FileExt))
	require.NoError(t, err)
	require.Empty(t, beside, "and no second study is made")
}

// What a search finds goes to the film that was searched, never to the hip that is shown
// when it ends.
func TestSearchEndsWhileAnotherHipIsShown(t *testing.T) {
	b, path := owned(t)
	b.superPx["2004-03-01.dcm"], b.superPx["2005-05-01.dcm"] = 3, 9
	b.strip.Add(b.folder("T2-R", "2005-05-01"))
	b.drain()
	require.NoError(t, b.SetHip(hipOf("T2")))
	b.drain()
	second := b.hip.ID
	b.Edits().Nudge(1, 0)
	mine := b.strip.Selected().Draft.Head.At

	begun, goOn := make(chan bool, 10), make(chan bool)
	b.cfg.Detect = func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		begun <- true
		<-goOn
		return b.detect(context.WithoutCancel(ctx), img, opt) // too far on to be stopped
	}
	b.strip.Add(b.folder("T1-R", "2004-03-01"))
	b.drain()
	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	b.drain()
	require.NoError(t, b.SetHip(hipOf("T1")))
	first, searched := b.hip.ID, b.strip.Films()[0]
	<-begun
	require.NoError(t, b.OpenHip(second))
	close(goOn)
	b.drain()
	b.waitSaved()
	f := b.strip.Films()[0]
	require.Equal(t, mine, f.Draft.Head.At, "the reader's outline stays")
	for _, p := range f.proposals {
		require.Equal(t, cupY-9.0, p.Head.At.Y)
	}
	require.Nil(t, searched.proposal, "it is searched again when its hip is shown")
	st := memoryFiles[path]
	for hip, want := range map[string]string{first: "2004-03-01.dcm", second: "2005-05-01.dcm"} {
		links, err := st.Links(t.Context(), hip)
		require.NoError(t, err)
		for _, l := range links {
			g := b.filmOf(path, hip, l.FilmID)
			require.Equal(t, want, g.Name())
		}
	}

	require.NoError(t, b.OpenHip(first))
	b.drain()
	b.waitSaved()
	require.Equal(t, Proposed, b.strip.Films()[0].State())
	require.Equal(t, cupY-3.0, b.strip.Films()[0].Draft.Head.At.Y)
}

// filmOf returns a film of a hip of a study.
func (b *bench) filmOf(path, hip, film string) study.Film {
	list, err := memoryFiles[path].Films(b.t.Context(), hip)
	require.NoError(b.t, err)
	for _, f := range list {
		if f.ID == film {
			return f
		}
	}
	b.t.Fatalf("%s is no film of %s", film, hip)
	return study.Film{}
}
