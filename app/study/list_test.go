package study

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hipsOf returns records of n hips of m films each, without readings.
func hipsOf(n, m int) (out []Record) {
	film := 0
	for i := range n {
		r := Record{Hip: Hip{ID: fmt.Sprint("H", i+1)}}
		for k := range m {
			film++
			r.Films = append(r.Films, Film{ID: fmt.Sprint("F", film), Facts: Facts{Date: time.Date(2010+k, 1, 1+i, 0, 0, 0, 0, time.UTC)}})
		}
		out = append(out, r)
	}
	return out
}

// order writes the places of a list as film.occasion.
func order(l List) (out []string) {
	for _, p := range l.Places {
		out = append(out, fmt.Sprintf("%s.%d", p.FilmID, p.Occasion))
	}
	return out
}

func plan(readers ...string) ListPlan {
	return ListPlan{Readers: readers, Seed: 7, Share: 0.25, Gap: 3, Start: StartBlank}
}

// The order of a seed is fixed: PCG-DXSM, FNV-1a and Fisher-Yates are the same everywhere.
func TestSeedFixesTheOrder(t *testing.T) {
	lists, err := MakeLists(hipsOf(2, 4), plan("R1", "R2"))
	require.NoError(t, err)
	require.Equal(t, []string{"F4.1", "F3.1", "F8.1", "F1.1", "F4.2", "F5.1", "F7.1", "F8.2", "F2.1", "F6.1"}, order(lists[0]))
	require.Equal(t, []string{"F8.1", "F7.1", "F2.1", "F4.1", "F3.1", "F1.1", "F6.1", "F4.2", "F5.1", "F8.2"}, order(lists[1]))
	again, err := MakeLists(hipsOf(2, 4), plan("R2", "R1"))
	require.NoError(t, err)
	require.Equal(t, lists[0], again[1], "a reader's list does not depend on the others")
	other := plan("R1")
	other.Seed = 8
	reseeded, err := MakeLists(hipsOf(2, 4), other)
	require.NoError(t, err)
	require.NotEqual(t, order(lists[0]), order(reseeded[0]))
}

// Every film is read once, the share twice, and as many as asked for lie between.
func TestRepeatsComeAfterTheGap(t *testing.T) {
	for _, c := range []struct {
		hips, films, gap, repeats int
		share                     float64
	}{{10, 5, 30, 10, 0.2}, {10, 5, 49, 10, 0.2}, {10, 5, 40, 25, 0.5}, {10, 5, 0, 50, 1}, {10, 5, 45, 50, 1}, {3, 1, 1, 1, 0.1}, {4, 1, 3, 0, 0}, {7, 3, 20, 21, 1}} {
		for seed := range uint64(50) {
			lists, err := MakeLists(hipsOf(c.hips, c.films), ListPlan{Readers: []string{"A"}, Seed: seed, Share: c.share, Gap: c.gap, Start: StartProposal})
			require.NoError(t, err)
			first, repeats := map[string]int{}, 0
			for i, p := range lists[0].Places {
				if p.Occasion == 1 {
					require.NotContains(t, first, p.FilmID)
					first[p.FilmID] = i
					continue
				}
				repeats++
				at, read := first[p.FilmID]
				require.True(t, read)
				require.GreaterOrEqual(t, i-at-1, c.gap)
				delete(first, p.FilmID)
				first["again "+p.FilmID] = i
			}
			require.Len(t, first, c.hips*c.films)
			require.Equal(t, c.repeats, repeats)
		}
	}
}

// Whether a film is repeated, and where it stands, does not go by its hip or date.
func TestOrderIsNotThatOfTheStudy(t *testing.T) {
	const seeds = 2000
	place, repeated := map[string]float64{}, map[string]float64{}
	for seed := range uint64(seeds) {
		lists, err := MakeLists(hipsOf(5, 4), ListPlan{Readers: []string{"A"}, Seed: seed, Share: 0.2, Gap: 10, Start: StartBlank})
		require.NoError(t, err)
		n := 0.0
		for _, p := range lists[0].Places {
			if p.Occasion == 2 {
				repeated[p.FilmID]++
				continue
			}
			place[p.FilmID] += n
			n++
		}
	}
	require.Len(t, place, 20)
	for film := range place {
		// Of a uniform place of 20 the mean is 9.5 and its error sqrt(399/12/2000) = 0.13; of
		// a share of 0.2 the error is sqrt(0.16/2000) = 0.009. Five errors either way.
		assert.InDelta(t, 9.5, place[film]/seeds, 0.65, film)
		assert.InDelta(t, 0.2, repeated[film]/seeds, 0.045, film)
	}
}

func TestListsAreRefused(t *testing.T) {
	for name, change := range map[string]func(*ListPlan){
		"blind.no-reader": func(p *ListPlan) { p.Readers = nil },
		"blind.reader":    func(p *ListPlan) { p.Readers = []string{"R1", "R1"} },
		"blind.share":     func(p *ListPlan) { p.Share = 1.2 },
		"blind.gap":       func(p *ListPlan) { p.Gap = 8 },
		"blind.start":     func(p *ListPlan) { p.Start = "" },
		"blind.no-double": func(p *ListPlan) { p.Doubles = [][2]string{{"F1", "F5"}} },
	} {
		p := plan("R1")
		change(&p)
		_, err := MakeLists(hipsOf(2, 4), p)
		require.Error(t, err, name)
		require.Equal(t, name, NoteOf(err).Code)
	}
	_, err := MakeLists(nil, plan("R1"))
	require.Equal(t, "blind.no-films", NoteOf(err).Code)
}

// Films that everybody leaves out and files that cannot be read are on no list; those that
// one reader leaves out are.
func TestWhatIsOnAList(t *testing.T) {
	records := hipsOf(1, 6)
	r := &records[0]
	r.Exclusions = []Exclusion{{FilmID: "F1", Code: "exposure"}, {FilmID: "F2", Code: "exposure", Scope: ForReader, Reader: "R9"}}
	r.Films[2].Waits = Unreadable
	r.Films[5].Facts.Date = r.Films[4].Facts.Date
	lists, err := MakeLists(records, ListPlan{Readers: []string{"R1"}, Start: StartBlank, Doubles: [][2]string{{"F4", "F2"}}})
	require.NoError(t, err)
	double := map[string]string{}
	for _, p := range lists[0].Places {
		double[p.FilmID] = p.Double
	}
	require.Equal(t, map[string]string{"F2": "F4", "F4": "F4", "F5": "F5", "F6": "F5"}, double, "two of one day, and two that were named")
}

func TestNextOfAList(t *testing.T) {
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	l := List{ID: "L1", Days: 14, Places: []Place{{"H1", "F1", 1, ""}, {"H1", "F1", 2, ""}, {"H1", "F2", 1, ""}}}
	next := func(done Done, now time.Time) string {
		place, due, ok := l.Next(done, now)
		return fmt.Sprint(place, due.Format(time.DateOnly), ok)
	}
	const none = "0001-01-01"
	require.Equal(t, "1"+none+"true", next(nil, at))
	require.Equal(t, "3"+none+"true", next(Done{1: at}, at), "the repeat is to wait")
	require.Equal(t, "02026-03-15false", next(Done{1: at, 3: at}, at))
	require.Equal(t, "2"+none+"true", next(Done{1: at, 3: at}, at.AddDate(0, 0, 14)))
	require.Equal(t, "0"+none+"false", next(Done{1: at, 2: at, 3: at}, at))
}
