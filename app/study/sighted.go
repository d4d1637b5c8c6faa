package study

import "time"

// sights are what tells which readings of lists were made blind, by the IDs of lists.
type sights struct {
	lists []List
	open  map[string]time.Time   // when its reader first read outside of lists after it was made
	read  map[string][]time.Time // when its readings that are judged were made
}

func newSights(lists []List) sights {
	return sights{lists, map[string]time.Time{}, map[string][]time.Time{}}
}

// look takes readings of a hip, those that were withdrawn as well: who reads outside of lists
// sees dates, other readings and the trend.
func (s sights) look(readings []Reading) {
	for _, l := range s.lists {
		for _, m := range readings {
			if m.Listed.List == "" && m.Reader == l.Reader && m.At.After(l.Made.At) {
				s.first(l.ID, m.At)
			}
		}
	}
}

func (s sights) first(list string, at time.Time) {
	if was, is := s.open[list]; !is || at.Before(was) {
		s.open[list] = at
	}
}

// join takes what was seen of other hips.
func (s sights) join(other sights) {
	for list, at := range other.open {
		s.first(list, at)
	}
	for list, at := range other.read {
		s.read[list] = append(s.read[list], at...)
	}
}

// count returns how many readings of lists were made blind, and how many after their reader
// had read outside of lists.
func (s sights) count() (blind, sighted int) {
	for list, all := range s.read {
		from, is := s.open[list]
		for _, at := range all {
			if is && at.After(from) {
				sighted++
			} else {
				blind++
			}
		}
	}
	return blind, sighted
}
