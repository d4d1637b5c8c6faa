package session

import (
	"fmt"
	"math"
	"math/rand/v2"
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
	m.Asked = nil
	require.Len(t, b.look(), 2)
	require.Empty(t, m.Asked, "nothing has changed")

	require.NoError(t, b.Accept())
	require.Equal(t, 1, b.look()[1].Read)
	require.Equal(t, []string{"H1"}, m.Asked)
	m.Asked = nil
	b.strip.Select(1)
	b.Edits().Nudge(1, 0)
	require.NoError(t, b.drafts.Flush())
	require.Equal(t, 1, b.look()[1].Drafts, "a draft counts as soon as it is kept")
	require.Equal(t, []string{"H1"}, m.Asked)

	require.NoError(t, b.OpenHip(other.ID))
	m.Asked = nil
	other.Group = "B"
	require.NoError(t, b.SetHip(other))
	require.Equal(t, "B", b.look()[0].Hip.Group)
	require.Equal(t, []string{"H2"}, m.Asked)

	m.Asked = nil
	require.NoError(t, b.book.SetCounts("R9"))
	b.look()
	require.Equal(t, []string{""}, m.Asked, "other readings count everywhere")

	require.NoError(t, b.OpenHip("H1"))
	b.drain()
	b.strip.Select(0)
	m.Asked = nil
	require.NoError(t, b.given.SetSource(1200))
	b.look()
	require.Equal(t, []string{""}, m.Asked, "the film may be one of other hips")
}

// A study of this many hips, with outlines of so many edges, is what the table of hips is
// made for.
const manyHips, filmsEach, edgesEach = 2000, 5, 720

// full is an outline of real size, fitted to edges 0.3 px off it.
func full(r *rand.Rand, c measure.Circle) measure.Outline {
	o := outline(c)
	o.Points, o.Residuals, o.Edges = nil, nil, nil
	for i := range edgesEach {
		a := 360 * float64(i) / edgesEach
		sin, cos := math.Sincos(a * math.Pi / 180)
		e := measure.Edge{Angle: a, Residual: 0.3 * r.NormFloat64(), Strength: 300 * math.Exp(0.4*r.NormFloat64()), SD: 0.1}
		e.X, e.Y = c.X+(c.R+e.Residual)*cos, c.Y+(c.R+e.Residual)*sin
		o.Edges, o.Points, o.Residuals = append(o.Edges, e), append(o.Points, e.Point), append(o.Residuals, e.Residual)
	}
	return o
}

// manyInStudy writes a study of many hips, each film read, and opens it.
func manyInStudy(b *testing.B) (*Session, chan func()) {
	b.Helper()
	path := filepath.Join(b.TempDir(), "many"+study.FileExt)
	db, err := store.Create(path)
	require.NoError(b, err)
	ctx, r := b.Context(), rand.New(rand.NewPCG(1, 2))
	for i := range manyHips {
		h := hip()
		h.ID, h.Patient = "", fmt.Sprintf("P%04d", i)
		h, err := db.SaveHip(ctx, h, study.Stamp{})
		require.NoError(b, err)
		for k := range filmsEach {
			id := strconv.Itoa(i) + "-" + strconv.Itoa(k)
			f, err := db.SaveFilm(ctx, study.Film{ID: id, Facts: study.Facts{SHA256: id, Date: h.Surgery.AddDate(2*k, 1, 0), SpacingMM: imagerMM}}, study.Stamp{})
			require.NoError(b, err)
			require.NoError(b, db.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, study.Stamp{}))
			m := study.Measurement{Film: f, Status: study.Measured, Side: h.Side, HeadMM: 28,
				Head: full(r, measure.Circle{X: cupX, Y: cupY - float64(k), R: headRadius}), Cup: full(r, measure.Circle{X: cupX, Y: cupY, R: cupRadius})}
			m, err = m.Read(study.Method{})
			require.NoError(b, err)
			require.NoError(b, db.AddReading(ctx, study.Reading{ID: "r" + id, HipID: h.ID, FilmID: id, Reader: "R1", At: time.Unix(int64(i), 0), Measurement: m}))
		}
	}
	require.NoError(b, db.Close())
	queue := make(chan func(), 1000)
	s := New(Config{Post: func(f func()) { queue <- f }, Studies: store.Files(),
		Open: (&bench{}).open, Detect: (&bench{}).detect})
	require.NoError(b, s.book.open(path))
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

// BenchmarkRows makes the rows of 20,000 hips that were read: in each order, and as words
// are typed.
func BenchmarkRows(b *testing.B) {
	const n = 20000
	o := &Overview{s: &Session{}, known: true, all: map[string]*hipRow{}}
	r := rand.New(rand.NewPCG(1, 2))
	states := study.HipStates()
	for i := range n {
		h := hip()
		h.ID, h.Patient, h.Group = strconv.Itoa(i), fmt.Sprintf("P%05d", i), string('A'+rune(i%3))
		o.all[h.ID] = newHipRow(study.Summary{Hip: h, State: states[r.IntN(len(states))], Films: filmsEach, Unread: r.IntN(filmsEach),
			Span: study.Span{Last: h.Surgery.AddDate(0, 0, r.IntN(3000))}, Fit: &study.TrendFit{Rate: r.NormFloat64()}, Readers: []string{"R1", "R2"}, Missing: []study.Note{{Text: "shell"}}})
	}
	for key, name := range map[SortKey]string{ByState: "state", ByCode: "code", ByLastFilm: "last film", ByRate: "rate"} {
		b.Run("by "+name, func(b *testing.B) {
			o.ShowAll()
			o.Sort = key
			defer tellCPU(b)()
			for b.Loop() {
				o.Back = !o.Back
				require.Len(b, o.Rows(), n)
			}
		})
	}
	b.Run("words typed", func(b *testing.B) {
		defer tellCPU(b)()
		for i := 0; b.Loop(); i++ {
			o.Text = "right shell p12345"[:10+i%9]
			require.NotEmpty(b, o.Rows())
		}
	})
	b.Run("a hip further down", func(b *testing.B) {
		o.ShowAll()
		defer tellCPU(b)()
		for i := 0; b.Loop(); i++ {
			o.Move(1 - i%2*2)
		}
	})
}

func TestOverviewShowsHipsWhileOthersAreRead(t *testing.T) {
	b, m := inStudy(t)
	const n = 3 * firstShown
	for len(b.book.hips) < n {
		secondHip(b, m)
	}
	var shown []int
	for o := b.Overview(); o.busy; b.one() {
		if so, of, ok := o.SoFar(); ok && (len(shown) == 0 || so > shown[len(shown)-1]) {
			require.Equal(t, n, of)
			require.Len(t, o.Rows(), so)
			require.True(t, o.Lacking(), "what is beside the open hip is not known yet")
			_, known := o.Next()
			require.False(t, known)
			shown = append(shown, so)
		}
	}
	require.Equal(t, []int{firstShown, 2 * firstShown}, shown)
	require.Len(t, b.Overview().Rows(), n)
	_, _, some := b.Overview().SoFar()
	require.False(t, some)

	b.Overview().Point(b.Overview().Rows()[n-1].Hip.ID)
	require.NoError(t, b.book.SetCounts("R9"))
	for o := b.Overview(); o.busy; b.one() {
		require.Len(t, o.Rows(), n, "what was read stays until all of it is read anew")
	}
	require.Equal(t, n-1, b.Overview().Cursor(b.Overview().Rows()))
}
