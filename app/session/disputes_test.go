package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// otherwise lets the file at path say that it is of another patient.
func (b *bench) otherwise(path, patient string) {
	open := b.cfg.Open
	b.cfg.Open = func(name string) (*dicomio.Film, error) {
		f, err := open(name)
		if err == nil && name == path {
			f.PatientCode = patient
		}
		return f, err
	}
}

// waiting is what the study says of the one film that waits.
func (b *bench) waiting() study.Film {
	b.t.Helper()
	require.NoError(b.t, b.intake.flush())
	list, err := b.book.store.Unsorted(b.t.Context())
	require.NoError(b.t, err)
	require.Len(b.t, list, 1)
	piles := b.intake.Piles()
	require.Len(b.t, piles, 1)
	require.Equal(b.t, list[0].Facts.Patient, piles[0].Patient)
	return list[0]
}

// A film that waits stays, whoever another file with its picture is of: the patient of the
// hip that is open, or anybody where none is.
func TestFilmThatWaitsStays(t *testing.T) {
	for _, known := range []bool{true, false} {
		b, _ := twoHips(t)
		own := b.folder("T3-R", "2011-01-01")
		b.strip.Add(own)
		b.drain()
		require.Equal(t, "T3", b.waiting().Facts.Patient)
		if !known {
			b.clear()
		}
		n := len(b.strip.Films())
		other := b.folder("T2-L", "2011-01-01")
		b.strip.Add(other)
		b.drain()
		require.Equal(t, own[0], b.waiting().Path)
		require.Len(t, b.strip.Films(), n)
		require.Contains(t, b.Notice(), "says otherwise whose or when it is: T2, left there, T3, right here.")
		require.Len(t, b.intake.Disputes(), 1)

		// The reader says that the other file is right, or that it is not.
		d := b.intake.Disputes()[0]
		require.NoError(t, b.intake.Settle(d, Mine))
		require.Empty(t, b.intake.Disputes())
		require.Equal(t, "T3", b.waiting().Facts.Patient)
		require.NoError(t, b.intake.Settle(d, Theirs))
		now := b.waiting()
		require.Equal(t, Kind{Patient: "T2", Side: study.Left}, now.Kind())
		require.Equal(t, other[0], now.Path)
	}
}

// Of a film of a hip the tags of the other file are taken when the reader says so: then the
// film contradicts its hip, and says so.
func TestTagsOfAnotherFileStand(t *testing.T) {
	b, first := twoHips(t)
	require.NoError(t, b.OpenHip(b.book.Hips()[0].ID))
	b.drain()
	copies := b.folder("T1-R", "2004-03-01")
	b.otherwise(copies[0], "T9")
	b.strip.Add(copies)
	b.drain()
	f := b.strip.Films()[0]
	require.Equal(t, first[0], f.Path)
	require.Empty(t, b.intake.Contradiction(f))
	require.Len(t, b.intake.Disputes(), 1)
	require.NoError(t, b.intake.Settle(b.intake.Disputes()[0], Theirs))
	b.drain()
	require.Len(t, b.strip.Films(), 2)
	require.Equal(t, copies[0], f.Path)
	require.Equal(t, "T9", f.Facts.Patient)
	require.Equal(t, Accepted, f.State(), "what was read of it stays")
	require.NotEmpty(t, b.intake.Contradiction(f))
	require.NotContains(t, b.paths("T1"), first[0])
}

// A film that another window has put into the study keeps its tags, too.
func TestFilmOfAnotherWindowStays(t *testing.T) {
	b, _ := twoHips(t)
	own := b.folder("T3-R", "2011-01-01")
	b.strip.Add(own)
	b.drain()
	b.waiting()
	b.intake.forget() // as if it had come from there
	b.strip.Add(b.folder("T2-L", "2011-01-01"))
	b.drain()
	require.Equal(t, own[0], b.waiting().Path)
	require.Len(t, b.intake.Disputes(), 1)
}

// Films that nobody has claimed are in the study's file before it is closed; one that is
// taken out is not.
func TestUnclaimedFilmsAreHeldAtOnce(t *testing.T) {
	b, _ := owned(t)
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	kept := func() int {
		list, err := b.book.store.Unsorted(t.Context())
		require.NoError(t, err)
		return len(list)
	}
	for kept() < 2 {
		b.one()
	}
	b.strip.Remove(0)
	require.Equal(t, 1, kept())
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.waitSaved()
	require.Zero(t, kept(), "it is a hip's now")
	require.Len(t, b.strip.Films(), 1)
}
