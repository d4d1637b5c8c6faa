package source

import (
	"image"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// A date that is yet to come is no date of a film, and is told.
func TestDatesToCome(t *testing.T) {
	now := time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		date time.Time
		used bool
	}{
		"past":                      {time.Date(2004, 6, 16, 0, 0, 0, 0, time.UTC), true},
		"today to the east of here": {time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC), true},
		"2099":                      {time.Date(2099, 1, 2, 0, 0, 0, 0, time.UTC), false},
	} {
		path := filepath.Join(t.TempDir(), "a.dcm")
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
			Pixels: image.NewGray16(image.Rect(0, 0, 8, 8)), Bits: 12, Photometric: "MONOCHROME2", Date: c.date,
		}))
		f, err := Frame(path, 1, now)
		require.NoError(t, err)
		said := study.NotesWords(Notes(f.Warnings))
		if c.used {
			require.Equal(t, c.date, f.Date, name)
			require.Empty(t, said, name)
			continue
		}
		require.True(t, f.Date.IsZero(), name)
		require.Contains(t, said[0], "date is 2099-01-02, which is yet to come: not used")
	}
}
