package session

import (
	"image"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/settings"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// disclosures are the disclosures that the trail of the open study tells of.
func (b *bench) disclosures() (out []study.Disclosure) {
	require.NoError(b.t, b.book.store.Trail(b.t.Context(), func(row study.TrailRow) error {
		if row.What == study.DisclosureRow {
			out = append(out, study.DisclosureOf(row))
		}
		return nil
	}))
	return out
}

// rates counts the hips of the overview that have a rate, or say why they have none.
func (b *bench) rates() (n int) {
	for _, r := range b.look() {
		if r.Fit != nil || r.Why.Code != "blind.number" || len(r.Attention)+len(r.Doubts) > 0 {
			n++
		}
	}
	return n
}

// Nobody sees numbers while a list is read blind, but who says why, which the trail keeps.
func TestNumbersAreHiddenWhileAListIsRead(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Start: study.StartProposal})
	id := list.Places[0].HipID
	agreed := func() (err error) {
		b.book.Agreement(false, func(_ study.StudyAgreement, e error) { err = e })
		b.drain()
		return err
	}
	require.NoError(t, b.SetReader("R1"))
	require.True(t, b.book.NumbersHidden())
	require.Zero(t, b.rates())
	require.Len(t, b.look(), 1)
	var hidden *HiddenError
	require.ErrorAs(t, agreed(), &hidden)
	require.ErrorAs(t, b.OpenHip(id), &hidden)
	require.ErrorAs(t, b.SetHip(hip()), &hidden, "nor is a hip begun beside")
	b.strip.Add([]string{touch(t, t.TempDir(), "2011-03-01.dcm")})
	b.drain()
	require.Empty(t, b.strip.Films())
	require.Contains(t, b.Notice(), "read blind")

	require.ErrorContains(t, b.book.ShowNumbers("  "), "no-why-look")
	require.Empty(t, b.disclosures())
	require.NoError(t, b.book.ShowNumbers("a patient asks"))
	require.False(t, b.book.NumbersHidden())
	told := b.disclosures()
	require.Len(t, told, 1)
	require.Equal(t, []any{study.ShownNumbers, []string{list.ID}, "R1", "a patient asks", "test", true},
		[]any{told[0].Kind, told[0].Lists, told[0].Reader, told[0].Why, told[0].Version, !told[0].At.IsZero()})
	require.NoError(t, b.OpenHip(id))
	b.drain()
	require.Equal(t, 1, b.rates())
	require.NoError(t, b.book.Disclose(study.WrittenTables, ""))
	require.Equal(t, study.WrittenTables, b.disclosures()[1].Kind)

	_, err := batch.Assign(t.Context(), b.book.store, study.ListPlan{Readers: []string{"R3"}, Start: study.StartBlank}, b.stamp())
	require.NoError(t, err)
	require.NoError(t, b.book.follow())
	_, known := b.Hip()
	require.False(t, known, "of another list nobody has said why")
	require.True(t, b.book.NumbersHidden())
	require.NoError(t, b.book.Unblind("L2", "a mistake"))
	require.False(t, b.book.NumbersHidden())
	require.NoError(t, b.SetReader("R4"))
	require.True(t, b.book.NumbersHidden(), "another reader has not said why")
}

// Who has a list, or sits where one was read, cannot look, whatever code is given, nor in a copy.
func TestNumbersAreNeverShownWhereAListWasRead(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Start: study.StartProposal})
	b.cfg.SettingsPath = filepath.Join(t.TempDir(), "settings.json")
	var mine *BlindingError
	require.ErrorAs(t, b.book.ShowNumbers("to see"), &mine)
	require.NoError(t, b.reading(list).Close())
	require.NoError(t, b.book.EndList())
	require.NoError(t, b.SetReader("R1"))
	var hidden *HiddenError
	require.ErrorAs(t, b.book.ShowNumbers("to see"), &hidden)
	require.Equal(t, []string{list.ID}, hidden.Read)

	again := newBench(t) // the program is started anew on the account
	again.settings = settings.Load(b.cfg.SettingsPath)
	require.NoError(t, again.book.open(b.book.Path()))
	require.ErrorAs(t, again.book.ShowNumbers("to see"), &hidden)
	require.Empty(t, b.disclosures())

	require.NoError(t, b.book.Unblind(list.ID, "all is read"))
	require.False(t, b.book.NumbersHidden(), "the list is closed, which is kept")
	require.NoError(t, b.OpenHip(list.Places[0].HipID))
}

// A list that a command makes while a hip is open closes that hip.
func TestListMadeElsewhereClosesTheHip(t *testing.T) {
	b, path := filed(t)
	for i := range b.strip.films {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	b.Edits().Nudge(3, 0)
	require.NotEmpty(t, b.history.UndoName())
	st, err := onDisk.Open(t.Context(), path, nil)
	require.NoError(t, err)
	lists, err := batch.Assign(t.Context(), st, study.ListPlan{Readers: []string{"R1"}, Start: study.StartBlank}, study.Stamp{Reader: "K1"})
	require.NoError(t, err)
	require.NoError(t, st.Close())
	require.ErrorContains(t, b.Accept(), lists[0].ID, "what would be accepted is no reading of an open eye")
	_, known := b.Hip()
	require.False(t, known)
	require.Empty(t, b.strip.Films())
	require.Empty(t, b.history.UndoName())
	require.Contains(t, b.Notice(), "the hip was closed")
	require.Len(t, drafted(t, path), 1, "what was drawn is kept")
}

// Outlines of a list that are not accepted outlive the program, and name nobody.
func TestListDraftsAreKept(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Share: 0.4, Gap: 2, Start: study.StartProposal})
	s := b.reading(list)
	s.Edits().Nudge(3, 0)
	want := s.Strip().Selected().Draft.Head.At
	for s.drafts.waiting { // nothing is closed: the program is killed
		b.one()
	}
	kept, ok, err := b.book.store.ListDraft(t.Context(), list.ID, 1)
	require.NoError(t, err)
	require.True(t, ok)
	for _, told := range []string{"T1", ".dcm", "200", list.Places[0].HipID, list.Places[0].FilmID} {
		require.NotContains(t, string(kept.Outlines), `"`+told)
	}
	require.Empty(t, draftsIn(t, b.book.store), "none of another kind")

	other := newBench(t)
	require.NoError(t, other.SetReader("R2"))
	require.NoError(t, other.book.open(b.book.Path()))
	again := other.reading(list)
	f := again.Strip().Selected()
	require.Equal(t, Edited, f.State())
	require.Equal(t, want, f.Draft.Head.At)
	require.NoError(t, again.Blind().PutAside())
	other.settle(again)
	require.Equal(t, Proposed, again.Strip().Selected().State(), "of that film alone")
	again = other.reading(list)
	require.Equal(t, Edited, again.Strip().Selected().State(), "put off, and kept")
	require.NoError(t, again.Blind().SetGrade("A", ""))
	require.NoError(t, again.Accept())
	_, ok, err = b.book.store.ListDraft(t.Context(), list.ID, 1)
	require.NoError(t, err)
	require.False(t, ok, "what is accepted is no draft")
	r, err := b.book.store.Record(t.Context(), list.Places[0].HipID)
	require.NoError(t, err)
	require.False(t, r.Readings[len(r.Readings)-1].Listed.Untouched)

	other.settle(again)
	again.Edits().Nudge(3, 0)
	require.NoError(t, again.Close())
	last := other.reading(list)
	require.Equal(t, Edited, last.Strip().Selected().State(), "left")
	last.History().Undo()
	last.Edits().Discard()
	other.settle(last)
	require.NoError(t, last.Drafts().Flush())
	_, ok, err = b.book.store.ListDraft(t.Context(), list.ID, 2)
	require.NoError(t, err)
	require.False(t, ok, "given up")
}

// What a person has marked in a film, since it tells who it is of, is kept with the film, is black
// where it is read blind, and is there again for copies.
func TestMarksAreKeptAndBlackInLists(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	for i := range b.strip.films {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	c := b.Outgoing()
	c.Begin()
	c.Front().Picture = image.NewGray(image.Rect(0, 0, 200, 200)) // as it is once it is read
	c.Mark(image.Rect(40, 60, 10, 20))
	c.Mark(image.Rect(100, 100, 120, 120))
	c.Toggle(image.Pt(110, 110))
	path := c.Front().Path
	part := image.Rect(10, 20, 40, 60)

	hips, err := b.book.store.Hips(t.Context())
	require.NoError(t, err)
	films, err := b.book.store.Films(t.Context(), hips[0].ID)
	require.NoError(t, err)
	marked := ""
	for _, f := range films {
		if f.Path == path {
			marked = f.ID
			require.Equal(t, study.Black("10 20 30 40"), f.Given.Black)
		} else {
			require.Empty(t, f.Given.Black)
		}
	}
	changes, err := b.book.store.FilmChanges(t.Context(), marked)
	require.NoError(t, err)
	require.Equal(t, "R1", changes[len(changes)-1].Reader, "the trail has it")

	other := newBench(t)
	require.NoError(t, other.SetReader("R1"))
	require.NoError(t, other.book.open(b.book.Path()))
	other.drain()
	other.Outgoing().Begin()
	for _, f := range other.Outgoing().Films() {
		if f.Path == path {
			require.Equal(t, []Place{{Part: part, Black: true}}, f.Places)
		} else {
			require.Empty(t, f.Places)
		}
	}

	asked := map[string][]image.Rectangle{}
	b.cfg.OpenBlack = func(path string, parts []image.Rectangle) (*dicomio.Film, error) {
		asked[path] = parts
		return b.cfg.Open(path)
	}
	lists, err := batch.Assign(t.Context(), b.book.store, study.ListPlan{Readers: []string{"R2"}, Start: study.StartProposal}, b.stamp())
	require.NoError(t, err)
	require.NoError(t, b.SetReader("R2"))
	s := b.reading(lists[0])
	for range lists[0].Places {
		require.Equal(t, Proposed, s.Strip().Selected().State())
		require.Empty(t, s.Strip().Selected().Given.Black)
		require.NoError(t, s.Blind().PutAside())
		b.settle(s)
	}
	require.Equal(t, map[string][]image.Rectangle{path: {part}}, asked)
}
