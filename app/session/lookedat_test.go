package session

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// A study that cannot be written, or is asked for to be read, is shown, and what would change
// it is refused; the file stays as it is.
func TestStudyIsReadAlone(t *testing.T) {
	for name, set := range map[string]func(*Config){
		"asked for": func(c *Config) { c.ReadOnly = true },
		"cannot be written": func(c *Config) {
			c.Studies.Open = func(context.Context, string, study.Progress) (study.Store, error) {
				return nil, study.WrapError(study.ErrReadOnly, "file.not-there", study.Values{"Why": study.NoteOf(study.ErrReadOnly)})
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "s"+study.FileExt)
			st, err := store.Files().Create(path)
			require.NoError(t, err)
			_, err = st.SaveHip(t.Context(), hip(), study.Stamp{Reader: "R1"})
			require.NoError(t, err)
			require.NoError(t, st.Close())
			before, err := os.ReadFile(path)
			require.NoError(t, err)

			b := newBench(t)
			b.cfg.Studies = store.Files()
			set(&b.cfg)
			var opened error
			b.book.Open(path, func(err error) { opened = err })
			b.drain()
			require.NoError(t, opened)
			require.True(t, b.book.ReadOnly())
			require.Equal(t, "T1", b.hip.Patient)
			require.NoError(t, b.SetReader("R1"))
			now := b.hip
			now.Group = "B"
			require.ErrorIs(t, b.SetHip(now), study.ErrReadOnly)
			require.Empty(t, b.hip.Group)
			require.ErrorIs(t, b.book.AddEvent(study.Event{Kind: study.Lost}), study.ErrReadOnly)
			require.ErrorIs(t, b.book.SaveVariable(study.Variable{Of: study.OfHip, Name: "x", Type: study.Text}, ""), study.ErrReadOnly)
			require.NoError(t, b.drafts.Keep(), "leaving is not kept from")
			require.NoError(t, b.Close())
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			require.Equal(t, before, after)
		})
	}
}

// Files that are dropped on an import are sorted by what they are.
func TestDroppedFilesAreSorted(t *testing.T) {
	b := newBench(t)
	dir := t.TempDir()
	put := func(name, header string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(header+"\n"+"1,1,1\n"), 0o600))
		return path
	}
	hips, events, films := put("h.csv", "patient,side,head_mm"), put("e.csv", "patient,event,date"), put("f.csv", "patient,date,tilt")
	got, err := b.book.Import().Sorted(ImportAsked{Site: "A"}, []string{films, dir, hips, events})
	require.NoError(t, err)
	require.Equal(t, ImportAsked{Site: "A", Films: dir, Hips: hips, Events: events, FilmValues: films}, got)
	_, err = b.book.Import().Sorted(ImportAsked{}, []string{put("empty.csv", "")})
	require.Error(t, err)
}
