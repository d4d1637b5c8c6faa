package session

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// twoHips is a bench on a study of T1, right, and T2, left, of which the second is open,
// with the films of the first.
func twoHips(t *testing.T) (b *bench, first []string) {
	b, _ = owned(t)
	b.cfg.Open = whereItIs(b)
	b.patients()
	require.NoError(t, b.SetReader("R1"))
	first = b.folder("T1-R", "2004-03-01", "2006-03-01")
	b.strip.Add(first)
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	require.NoError(t, b.Accept())
	b.strip.Add(b.folder("T2-L", "2005-05-01"))
	b.drain()
	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	b.drain()
	second := hip()
	second.ID, second.Patient, second.Side = "", "T2", study.Left
	require.NoError(t, b.SetHip(second))
	b.drain()
	b.waitSaved()
	return b, first
}

// paths are where the study has the films of a patient's hip.
func (b *bench) paths(patient string) (out []string) {
	for _, h := range b.book.Hips() {
		if h.Patient == patient {
			films, err := b.book.store.Films(b.t.Context(), h.ID)
			require.NoError(b.t, err)
			for _, f := range films {
				out = append(out, f.Path)
			}
		}
	}
	return out
}

// Copies of films that the study has make no second hip and no second row, whichever hip
// is open, and the study keeps the files that it has.
func TestCopiesOfFilmsOfTheStudy(t *testing.T) {
	b, first := twoHips(t)
	copies := b.folder("T1-R", "2004-03-01", "2006-03-01")
	for _, open := range []string{"T2", "T1"} {
		for _, h := range b.book.Hips() {
			if h.Patient == open {
				require.NoError(t, b.OpenHip(h.ID))
			}
		}
		b.drain()
		n := len(b.strip.Films())
		b.strip.Add(copies)
		b.drain()
		require.Empty(t, b.intake.Piles(), open)
		require.Len(t, b.strip.Films(), n)
		require.Equal(t, "Already in this study, and left as they are there: 2 films.", b.Notice())
		b.look()
		require.Len(t, b.Overview().Rows(), 2)
		require.Equal(t, first, b.paths("T1"))
		f := b.intake.Found()
		require.Equal(t, 2, f.Files)
		require.Equal(t, []Sort{{Kind: Kind{Patient: "T1", Side: study.Right}, Films: 2, Hip: "T1 right", Copies: true,
			Span: study.Span{First: onDay(2004, 3, 1), Last: onDay(2006, 3, 1)}}}, f.Sorts)
	}
}

// Where the place of before is lost, the new one is taken, of films that were read before
// it was as well.
func TestCopiesTakeAPlaceThatIsLost(t *testing.T) {
	for _, open := range []string{"T2", "T1"} {
		b, first := twoHips(t)
		if open == "T1" {
			for _, h := range b.book.Hips() {
				if h.Patient == open {
					require.NoError(t, b.OpenHip(h.ID))
				}
			}
			b.drain()
		}
		n := len(b.strip.Films())
		copies := b.folder("T1-R", "2004-03-01", "2006-03-01")
		require.NoError(t, os.RemoveAll(filepath.Dir(first[0])))
		b.strip.Add(append(copies, b.folder("T1-R", "2004-03-01")...))
		b.drain()
		require.Contains(t, b.Notice(), "Found again where they are now: 2 films.", open)
		require.Contains(t, b.Notice(), ": 1 film.", "the second copy")
		require.Empty(t, b.intake.Piles())
		require.Len(t, b.strip.Films(), n)
		for _, p := range b.paths("T1") {
			require.FileExists(t, p)
		}
	}
}

// Films that wait are not doubled either, and go into the hip that turns out to be theirs.
func TestCopiesOfFilmsThatWait(t *testing.T) {
	b, _ := twoHips(t)
	waits := b.folder("T3-R", "2011-01-01")
	b.strip.Add(waits)
	b.drain()
	b.strip.Add(b.folder("T3-R", "2011-01-01"))
	b.drain()
	require.Len(t, b.intake.Piles(), 1)
	require.Equal(t, "Already in this study, and left as they are there: 1 film.", b.Notice())
	require.NoError(t, os.Remove(waits[0]))
	now := b.folder("T3-R", "2011-01-01")
	b.strip.Add(now)
	b.drain()
	require.Equal(t, "Found again where it is now: 1 film.", b.Notice())
	require.Equal(t, now[0], b.intake.Piles()[0].Films[0].Path)
	h, _ := b.Hip()
	h.Patient, h.Side = "T3", study.Right
	require.NoError(t, b.SetHip(h))
	b.strip.Add(b.folder("T3-R", "2011-01-01"))
	b.drain()
	require.Empty(t, b.intake.Piles())
	require.Len(t, b.strip.Films(), 2)
}

// A copy that is read before the study's own film is one all the same.
func TestCopyThatComesFirst(t *testing.T) {
	b, first := twoHips(t)
	own, err := b.book.store.Films(t.Context(), b.book.Hips()[0].ID)
	require.NoError(t, err)
	copy := b.folder("T1-R", "2004-03-01")[0]
	f := own[0]
	f.ID, f.Revision, f.Path = copy, 0, copy
	require.NoError(t, b.OpenHip(b.book.Hips()[0].ID))
	b.intake.putIn([]study.Film{f}, false)
	b.drain()
	require.Len(t, b.strip.Films(), 2)
	require.Equal(t, first[0], b.strip.Films()[0].Path)
	require.Equal(t, Accepted, b.strip.Films()[0].State())
	require.NotContains(t, b.Notice(), "Found again")
}

// Where no hip is open, that of the files is, and no other is begun.
func TestCopiesOpenTheirHip(t *testing.T) {
	b, first := twoHips(t)
	again := newBench(t)
	again.cfg = b.cfg
	again.cfg.Post = func(f func()) { again.queue <- f }
	again.strip.Add(again.folder("T1-R", "2004-03-01", "2006-03-01"))
	again.drain()
	h, known := again.Hip()
	require.True(t, known)
	require.Equal(t, "T1 right", h.Label())
	require.Equal(t, first, again.paths("T1"))
	require.Len(t, again.strip.Films(), 2)
}

// A copy with other tags is not swallowed: what its file says is told beside what the
// study's says, and nothing is changed.
func TestCopyWithOtherTags(t *testing.T) {
	b, _ := twoHips(t)
	open := b.cfg.Open
	copies := b.folder("T1-R", "2004-03-01", "2006-03-01")
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		f, err := open(path)
		if err == nil && path == copies[0] {
			f.PatientCode, f.Laterality, f.Date = "T9", "L", f.Date.AddDate(1, 0, 0)
		}
		return f, err
	}
	for _, h := range []string{"T2", "T1"} {
		for _, o := range b.book.Hips() {
			if o.Patient == h {
				require.NoError(t, b.OpenHip(o.ID))
			}
		}
		b.drain()
		b.strip.Add(copies)
		b.drain()
		const told = "2004-03-01.dcm has the picture of 2004-03-01.dcm and says otherwise whose or when it is: T9, left, 2005-03-01 there, T1, right, 2004-03-01 here. "
		require.Contains(t, b.Notice(), told, h)
		sorts := b.intake.Found().Sorts
		require.Len(t, sorts, 2, h)
		require.Equal(t, Kind{Patient: "T1", Side: study.Right}, sorts[0].Kind)
		require.True(t, sorts[0].Contradicts.IsZero())
		require.Equal(t, Kind{Patient: "T9", Side: study.Left}, sorts[1].Kind)
		require.Contains(t, study.NoteWords(sorts[1].Contradicts), told)
		require.Empty(t, b.intake.Piles())
	}
}
