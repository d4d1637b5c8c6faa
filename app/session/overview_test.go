package session

import (
	"context"
	"fmt"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/measure"
)

func TestOverviewReadsOnlyTheHipsThatChanged(t *testing.T) {
	b, m := inStudy(t)
	other := secondHip(b, m)
	require.Len(t, b.look(), 2)
	m.asked = nil
	require.Len(t, b.look(), 2)
	require.Empty(t, m.asked, "nothing has changed")

	require.NoError(t, b.Accept())
	require.Equal(t, 1, b.look()[1].Read)
	require.Equal(t, []string{"T1-right"}, m.asked)
	m.asked = nil
	b.Select(1)
	b.Nudge(1, 0)
	require.NoError(t, b.FlushDrafts())
	require.Equal(t, 1, b.look()[1].Drafts, "a draft counts as soon as it is kept")
	require.Equal(t, []string{"T1-right"}, m.asked)

	require.NoError(t, b.OpenHip(other.ID))
	m.asked = nil
	other.Group = "B"
	require.NoError(t, b.SetHip(other))
	require.Equal(t, "B", b.look()[0].Hip.Group)
	require.Equal(t, []string{"T1-left"}, m.asked)

	m.asked = nil
	require.NoError(t, b.SetCounts("R9"))
	b.look()
	require.ElementsMatch(t, []string{"T1-left", "T1-right"}, m.asked, "other readings count everywhere")
}

// A study of this many hips is what the table of hips is made for.
const manyHips, filmsEach = 2000, 6

// manyInStudy writes a study of many hips, each film read, and opens it.
func manyInStudy(b *testing.B) (*Session, chan func()) {
	b.Helper()
	path := filepath.Join(b.TempDir(), "many"+study.FileExt)
	db, err := store.Open(path)
	require.NoError(b, err)
	ctx := context.Background()
	for i := range manyHips {
		h := hip()
		h.ID, h.Patient = fmt.Sprintf("P%04d-right", i), fmt.Sprintf("P%04d", i)
		require.NoError(b, db.SaveHip(ctx, h))
		for k := range filmsEach {
			id := strconv.Itoa(i) + "-" + strconv.Itoa(k)
			f := study.Film{ID: id, HipID: h.ID, SHA256: id, Date: h.Surgery.AddDate(k, 1, 0), SpacingMM: imagerMM}
			require.NoError(b, db.SaveFilm(ctx, f))
			m := study.Measurement{Film: f, Status: study.Measured, Side: h.Side, HeadMM: 28,
				Head: outline(measure.Circle{X: cupX, Y: cupY - float64(k), R: headRadius}), Cup: outline(measure.Circle{X: cupX, Y: cupY, R: cupRadius})}
			m, err := m.Read(study.Method{})
			require.NoError(b, err)
			require.NoError(b, db.AddReading(ctx, study.Reading{ID: "r" + id, FilmID: id, Reader: "R1", At: time.Unix(int64(i), 0), Measurement: m}))
		}
	}
	require.NoError(b, db.Close())
	queue := make(chan func(), 1000)
	s := New(Config{Post: func(f func()) { queue <- f }, OpenStore: func(p string) (study.Store, error) { return store.Open(p) },
		Open: (&bench{}).open, Detect: (&bench{}).detect})
	require.NoError(b, s.OpenStudy(path))
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	return s, queue
}

func lookUp(s *Session, queue chan func()) []study.Summary {
	for s.Overview().busy {
		(<-queue)()
	}
	return s.Overview().Rows()
}

func BenchmarkOverview(b *testing.B) {
	s, queue := manyInStudy(b)
	b.Run("first look", func(b *testing.B) {
		for b.Loop() {
			s.overview.known = false
			require.Len(b, lookUp(s, queue), manyHips)
		}
	})
	b.Run("after a change", func(b *testing.B) {
		for b.Loop() {
			h, _ := s.Hip()
			if h.Group += "A"; len(h.Group) > 3 {
				h.Group = ""
			}
			require.NoError(b, s.SetHip(h))
			require.Len(b, lookUp(s, queue), manyHips)
		}
	})
}
