package study

import "time"

// Span is the first and the last of some days; both are zero where there is none.
type Span struct{ First, Last time.Time }

// Add takes a day into the span, in any order; one that is not known is passed over.
func (s *Span) Add(day time.Time) {
	if day.IsZero() {
		return
	}
	if s.First.IsZero() || day.Before(s.First) {
		s.First = day
	}
	if day.After(s.Last) {
		s.Last = day
	}
}
