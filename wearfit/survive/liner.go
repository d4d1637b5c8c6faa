package survive

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// What ended the time under observation of a liner. Codes from 2 to MaxEvent are
// events that compete with a revision: after a death no liner is revised.
const (
	InPlace  = 0 // at the last contact
	Revised  = 1
	MaxEvent = 9
)

// Faults of the liners given. TimeError, EventError and ColumnError carry more.
var (
	// ErrNone says that there is no liner, or none in a group.
	ErrNone = errors.New("wearfit: no liner was observed")
	// ErrNoEvent says that no liner was revised that another one was at risk with,
	// so that nothing can be compared.
	ErrNoEvent = errors.New("wearfit: no liner was revised while others that differ were at risk")
	// ErrFewPatients says that an error between patients was to be taken from fewer
	// patients than it needs.
	ErrFewPatients = errors.New("wearfit: too few patients to tell how far hips of one patient fail alike")
)

// TimeError names a time that no liner can have been observed for.
type TimeError struct {
	Index int
	Years float64
}

func (e *TimeError) Error() string {
	return fmt.Sprintf("wearfit: liner %d was observed for %g years", e.Index+1, e.Years)
}

// EventError names a code of no event.
type EventError struct{ Index, Event int }

func (e *EventError) Error() string {
	return fmt.Sprintf("wearfit: liner %d has event %d, not one from 0 to %d", e.Index+1, e.Event, MaxEvent)
}

// Liner is one liner: how long it was observed and what ended that.
type Liner struct {
	Years float64 // from 0 on
	Event int
	// Patient names whose liner it is. Liners of one patient may fail alike; an
	// empty name is a patient of its own.
	Patient string
}

// check refuses liners that nothing can be told of.
func check(liners []Liner) error {
	if len(liners) == 0 {
		return ErrNone
	}
	for i, l := range liners {
		switch {
		case math.IsNaN(l.Years) || math.IsInf(l.Years, 0) || l.Years < 0:
			return &TimeError{i, l.Years}
		case l.Event < 0 || l.Event > MaxEvent:
			return &EventError{i, l.Event}
		}
	}
	return nil
}

// inOrder returns the places of liners in order of their times.
func inOrder(liners []Liner) []int {
	out := make([]int, len(liners))
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(liners[a].Years, liners[b].Years) })
	return out
}

// cohort is liners in order of their times.
type cohort struct {
	liners  []Liner
	moments []moment
	patient []int // of each liner, from 0; nil where none has two
	people  int
}

// moment is a time at which liners leave: those from first until next. A liner that
// leaves at the time of an event was at risk of it.
type moment struct {
	years       float64
	first, next int
	ends        [MaxEvent + 1]int // liners by what ended their time
	people      int               // patients of the liners at risk
}

func (m moment) events() int { return m.next - m.first - m.ends[InPlace] }

// newCohort checks and orders liners.
func newCohort(liners []Liner) (*cohort, error) {
	if err := check(liners); err != nil {
		return nil, err
	}
	c := &cohort{}
	for _, i := range inOrder(liners) {
		c.liners = append(c.liners, liners[i])
	}
	for i := 0; i < len(c.liners); {
		m := moment{years: c.liners[i].Years, first: i}
		for ; i < len(c.liners) && c.liners[i].Years == m.years; i++ {
			m.ends[c.liners[i].Event]++
		}
		m.next = i
		c.moments = append(c.moments, m)
	}
	c.patient, c.people = patients(c.liners)
	if c.patient != nil && c.people < 2 {
		return nil, ErrFewPatients
	}
	c.countPeople()
	return c, nil
}

// patients numbers them from 0, liner by liner; nil where each has one liner.
func patients(liners []Liner) (of []int, n int) {
	known := map[string]int{}
	for _, l := range liners {
		k, ok := known[l.Patient]
		if !ok || l.Patient == "" {
			k = n
			n++
			known[l.Patient] = k
		}
		of = append(of, k)
	}
	if n == len(liners) {
		return nil, n
	}
	return of, n
}

// countPeople counts, for each moment, the patients of the liners at risk then.
func (c *cohort) countPeople() {
	seen, n := make([]bool, c.people), 0
	for k := len(c.moments) - 1; k >= 0; k-- {
		m := &c.moments[k]
		for i := m.first; i < m.next; i++ {
			if c.patient == nil {
				n++
			} else if p := c.patient[i]; !seen[p] {
				seen[p] = true
				n++
			}
		}
		m.people = n
	}
}

// atRisk counts the liners and the patients at risk at a time.
func (c *cohort) atRisk(years float64) (liners, people int) {
	k, _ := slices.BinarySearchFunc(c.moments, years, func(m moment, y float64) int { return cmp.Compare(m.years, y) })
	if k == len(c.moments) {
		return 0, 0
	}
	return len(c.liners) - c.moments[k].first, c.moments[k].people
}

// across is the length of what each liner adds, the liners of one patient added
// up first: the standard error of a sum of influences. It is 0, rounding aside, where
// the liners of each patient balance.
func (c *cohort) across(influence []float64) float64 {
	var each, all float64
	for _, v := range influence {
		each += v * v
	}
	if c.patient == nil {
		return math.Sqrt(each)
	}
	sums := make([]float64, c.people)
	for i, v := range influence {
		sums[c.patient[i]] += v
	}
	for _, v := range sums {
		all += v * v
	}
	if all <= 1e-13*each {
		return 0
	}
	return math.Sqrt(all)
}

var infinite = math.Inf(1)
