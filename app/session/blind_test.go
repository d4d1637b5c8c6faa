package session

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
)

// listing returns a bench whose five films R1 has accepted, and a list of R2 of a plan.
func listing(t *testing.T, plan study.ListPlan) (*bench, study.List) {
	b := opened(t)
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	for i := range b.strip.films {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	plan.Readers = []string{"R2"}
	lists, err := batch.Assign(t.Context(), b.book.store, plan, b.stamp())
	require.NoError(t, err)
	require.NoError(t, b.SetReader("R2"))
	return b, lists[0]
}

// reading opens the list and waits for its first film.
func (b *bench) reading(list study.List) *Session {
	s, err := b.book.ReadList(list.ID)
	require.NoError(b.t, err)
	b.t.Cleanup(func() { _ = s.Close() })
	b.settle(s)
	return s
}

// settle waits for the background of s.
func (b *bench) settle(s *Session) {
	for {
		if _, total := s.Work().Progress(); total == 0 && len(b.queue) == 0 {
			return
		}
		b.one()
	}
}

func TestListIsReadBlind(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Share: 0.4, Gap: 2, Start: study.StartProposal})
	s := b.reading(list)
	l := s.Blind()
	read := 0
	for {
		if _, over := l.Over(); over {
			break
		}
		f := s.Strip().Selected()
		require.NotNil(t, f)
		require.Equal(t, Proposed, f.State(), study.NoteWords(f.Reason))
		require.Equal(t, fmt.Sprintf("place %d", read+1), f.Name())
		require.True(t, f.Date().IsZero())
		require.Empty(t, f.Facts.Patient)
		require.Empty(t, f.Readings)
		h, known := s.Hip()
		require.True(t, known)
		require.Equal(t, study.Hip{Side: measure.Right, Implant: study.Implant{HeadMM: 28}}, h)
		_, err := s.Trend()
		require.Error(t, err)
		require.Empty(t, s.Book().Recent())
		require.ErrorIs(t, s.Accept(), ErrNoGrade)
		require.NoError(t, l.SetGrade("B", "tilt"))
		require.NoError(t, l.SetGrade("A", ""), "until it is accepted")
		require.False(t, l.NumbersShown())
		if read == 1 {
			s.Edits().Nudge(1, 0)
		}
		require.NoError(t, s.Accept())
		b.settle(s)
		read++
		done, of := l.Progress()
		require.Equal(t, []int{read, 7}, []int{done, of})
	}
	require.Equal(t, 7, read)
	require.ErrorContains(t, s.Accept(), "no-film")
	require.NoError(t, s.Close())
	require.NoError(t, b.book.EndList())
	b.drain()

	r, err := b.book.store.Record(t.Context(), list.Places[0].HipID)
	require.NoError(t, err)
	require.Len(t, r.Readings, 12)
	occasions := map[string][]int{}
	for i, g := range r.Readings[5:] {
		require.Equal(t, study.Listed{List: list.ID, Kind: study.ReadList, Place: i + 1, Occasion: list.Places[i].Occasion, Start: study.StartProposal, Untouched: i != 1}, g.Listed)
		require.Equal(t, list.Places[i].FilmID, g.FilmID)
		require.Equal(t, "R2", g.Reader)
		require.Empty(t, g.Supersedes)
		occasions[g.FilmID] = append(occasions[g.FilmID], g.Listed.Occasion)
		if i != 1 { // the program proposes the same, however little is shown
			same := r.Standing(g.FilmID, "R1")
			require.Equal(t, same.Measurement.Reading.Offset, g.Measurement.Reading.Offset)
			require.Equal(t, same.Film, g.Film)
		}
	}
	require.Len(t, occasions, 5)
	require.Len(t, r.Grades, 7)
	require.Equal(t, "A", r.Grades[0].Quality)
	require.False(t, r.Grades[0].At.After(r.Readings[5].At), "graded before it is read")
}

// A list goes on where it was left, whatever window it is opened in, and a place is done once.
func TestListGoesOn(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Start: study.StartProposal})
	one, two := b.reading(list), b.reading(list)
	require.NoError(t, one.Blind().SetGrade("A", ""))
	require.NoError(t, one.Accept())
	b.settle(one)
	require.Equal(t, "place 2", one.Strip().Selected().Name())
	require.Equal(t, "place 1", two.Strip().Selected().Name())
	require.NoError(t, two.Blind().SetGrade("C", "blur"))
	require.NoError(t, two.Accept())
	b.settle(two)
	require.Equal(t, "place 2", two.Strip().Selected().Name())
	require.Contains(t, two.Notice(), "done already")
	r, err := b.book.store.Record(t.Context(), list.Places[0].HipID)
	require.NoError(t, err)
	require.Len(t, r.Readings, 6)

	require.NoError(t, two.Blind().Exclude("exposure", ""))
	b.settle(two)
	require.Equal(t, "place 3", two.Strip().Selected().Name())
	require.NoError(t, two.Blind().PutAside())
	b.settle(two)
	require.Equal(t, "place 4", two.Strip().Selected().Name())
	require.Equal(t, 1, two.Blind().PutOff())
	require.Equal(t, "place 3", b.reading(list).Strip().Selected().Name())
	r, err = b.book.store.Record(t.Context(), list.Places[0].HipID)
	require.NoError(t, err)
	require.Nil(t, r.Exclusion(list.Places[1].FilmID), "others read it")

	require.NoError(t, b.book.Unblind(list.ID, "enough"))
	require.NoError(t, two.Blind().SetGrade("A", ""))
	require.ErrorIs(t, two.Accept(), study.ErrListClosed)
	_, err = b.book.ReadList(list.ID)
	require.ErrorIs(t, err, study.ErrListClosed)
	require.NoError(t, b.SetReader("R1"))
	_, err = b.book.ReadList(list.ID)
	require.ErrorContains(t, err, "not-yours")
}

func TestListBeginsBlank(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Start: study.StartBlank, Shows: true})
	s := b.reading(list)
	f := s.Strip().Selected()
	require.Equal(t, Refused, f.State())
	require.Nil(t, f.Draft)
	n, _ := s.Edits().Proposals(f)
	require.Zero(t, n)
	require.False(t, s.Blind().NumbersShown())
	require.NoError(t, s.Blind().SetGrade("A", ""))
	require.True(t, s.Blind().NumbersShown())
	require.ErrorIs(t, s.Blind().SetGrade("C", ""), errGraded)
	require.Error(t, s.Accept(), "nothing is drawn")
	s.Edits().DrawByHand()
	s.Edits().RefineBoth()
	b.settle(s)
	if s.Numbers(f).Err == nil {
		require.NoError(t, s.Accept())
	}
}

// Days lie between a film and its repeat; the reader learns only when to go on.
func TestListWaitsForItsDays(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Share: 1, Days: 14, Start: study.StartProposal})
	s := b.reading(list)
	for range 5 {
		require.NoError(t, s.Blind().SetGrade("A", ""))
		require.NoError(t, s.Accept())
		b.settle(s)
	}
	due, over := s.Blind().Over()
	require.True(t, over)
	require.WithinDuration(t, b.now.AddDate(0, 0, 14), due, time.Hour)
	b.now = b.now.AddDate(0, 0, 15)
	s = b.reading(list)
	_, over = s.Blind().Over()
	require.False(t, over)
	require.NotEmpty(t, s.Strip().Selected().Name())
}

// What is said of a file that cannot be read does not name it.
func TestListNamesNoFile(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Start: study.StartProposal})
	for _, f := range b.strip.films {
		b.refuse[f.Name()] = "the film shows no hip"
	}
	open := b.cfg.Open
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		if strings.Contains(path, "2009") {
			return nil, fmt.Errorf("%s: gone", path)
		}
		return open(path)
	}
	s := b.reading(list)
	failed := 0
	for range list.Places {
		f := s.Strip().Selected()
		words := study.NoteWords(f.Reason)
		if f.State() == Failed {
			failed++
			require.NotContains(t, words, "2009")
			require.Contains(t, words, "put the film off")
		}
		require.NoError(t, s.Blind().PutAside())
		b.settle(s)
	}
	require.Equal(t, 1, failed)
}

// Nothing that the program writes while a list is read tells more than the study's own file,
// which has to.
func TestListIsWrittenNowhereElse(t *testing.T) {
	home := t.TempDir()
	for _, name := range []string{"HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "TMPDIR"} {
		t.Setenv(name, home)
	}
	t.Chdir(home)
	b := newBench(t)
	b.cfg.SettingsPath = filepath.Join(home, "settings.json")
	films := t.TempDir()
	for _, d := range dates {
		b.superPx[d+".dcm"] = 3
		b.strip.Add([]string{touch(t, films, d+".dcm")})
	}
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	require.NoError(t, b.SetReader("R2"))
	b.cfg.Studies = store.Files()
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	b.drain()
	lists, err := batch.Assign(t.Context(), b.book.store, study.ListPlan{Readers: []string{"R2"}, Start: study.StartProposal}, b.stamp())
	require.NoError(t, err)
	before := filesIn(t, home)
	require.NotEmpty(t, before, "what the program writes is looked for where it writes")
	s := b.reading(lists[0])
	settings := filepath.Join(home, "settings.json")
	mark := filesIn(t, home)[settings]
	require.NotEqual(t, before[settings], mark, "that the list was read on this account")
	for _, told := range []string{"L1", markOf(lists[0])} {
		require.Contains(t, mark, told)
	}
	before[settings] = mark
	for range lists[0].Places {
		s.Edits().Nudge(1, 0)
		require.NoError(t, s.Drafts().Flush())
		b.settle(s)
		require.NoError(t, s.Blind().SetGrade("A", ""))
		require.NoError(t, s.Accept())
		b.settle(s)
	}
	require.Equal(t, before, filesIn(t, home))
	require.NoError(t, s.Close())
	require.Equal(t, before, filesIn(t, home))
}

// filesIn returns the files below dir with what they hold.
func filesIn(t *testing.T, dir string) map[string]string {
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		out[path] = string(data)
		return err
	}))
	return out
}

// No hip is shown to who has a list to read, nor to nobody in particular: opening one is
// refused until the blinding is ended, which is kept and closes the list.
func TestHipsAreCoveredWhileAListIsRead(t *testing.T) {
	b, list := listing(t, study.ListPlan{Seed: 3, Start: study.StartProposal})
	_, known := b.Hip()
	require.False(t, known, "setting the reader of a list puts the hip away")
	require.Empty(t, b.strip.Films())
	require.True(t, b.book.ListsFirst())
	id := list.Places[0].HipID
	var mine *BlindingError
	require.ErrorAs(t, b.OpenHip(id), &mine)
	require.Equal(t, []string{list.ID}, mine.Lists)

	other := newBench(t)
	require.NoError(t, other.book.open(b.book.Path()))
	_, known = other.Hip()
	require.False(t, known, "nobody has said who reads")
	require.ErrorIs(t, other.OpenHip(id), ErrWhoReads)
	require.NoError(t, other.SetReader("R1"))
	require.True(t, other.book.ListsFirst())
	var hidden *HiddenError
	require.ErrorAs(t, other.OpenHip(id), &hidden, "R1 has no list, and has not said why")
	require.Equal(t, &HiddenError{Lists: []string{list.ID}}, hidden)

	s := b.reading(list)
	require.NoError(t, s.Blind().SetGrade("A", ""))
	require.NoError(t, s.Accept())
	require.NoError(t, b.book.EndList())
	_, known = b.Hip()
	require.False(t, known)

	require.NoError(t, b.book.Uncover(mine.Lists))
	require.NoError(t, b.OpenHip(id))
	lists, _, err := b.book.Lists()
	require.NoError(t, err)
	require.Equal(t, "R2", lists[0].Opened.Reader)
	require.Equal(t, "a hip of the study was opened", lists[0].Opened.Why)
}
