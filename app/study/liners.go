package study

import (
	"fmt"
	"slices"

	"linerwatch/wearfit/survive"
)

// LinerRow is one liner: how long it was observed and what ended that.
type LinerRow struct {
	Hip, Group string
	Patient    string // empty where not known
	Years      float64
	Event      int       // 0 in place, 1 revised, 2 and above what competes, such as a death
	Covariates []float64 // as LinerOptions names them
}

// MaxEvent is the highest code of an event.
const MaxEvent = survive.MaxEvent

// mostGroups are the groups that are compared: more are a column that tells no groups.
const mostGroups = 20

// LinerOptions are what is asked of liners.
type LinerOptions struct {
	Years      []float64 // at which the curves are told; LinerYears where nil
	Covariates []string
	// Step is by how much a covariate's hazard ratio is told; 1 where it is not there.
	Step map[string]float64
	// Events are the words of events by their codes; "event" and the code where there are none.
	Events map[int]string
}

// event is what an event is called.
func (o LinerOptions) event(code int) string {
	if words, ok := o.Events[code]; ok {
		return words
	}
	return fmt.Sprintf("event %d", code)
}

// LinerYears are the times at which curves of liners are told where none are
// asked for; common practice, no source.
func LinerYears() []float64 { return []float64{1, 2, 5, 10, 15, 20} }

// Liners follows liners to their revision: for the whole table, or each group, the
// share not revised at the given years by Kaplan and Meier, the liners at risk then,
// and, where other events compete, the share revised and the share of each other
// event by Aalen and Johansen; between groups the log-rank test and, where events
// compete, Gray's; of groups and covariates the hazard ratios of a Cox regression and
// whether they are the same at all times. Where a patient has more than one liner the
// errors are between patients. The convention of a quantity says what made it. Years after
// the last liner was seen are left out.
func Liners(rows []LinerRow, o LinerOptions) ([]Quantity, error) {
	c, err := newLinerCohort(rows, o)
	if err != nil {
		return nil, err
	}
	out, err := c.curves()
	if err != nil {
		return nil, err
	}
	if len(c.names) > 1 {
		out = append(out, c.compared()...)
	}
	if len(c.names) > 1 || len(o.Covariates) > 0 {
		out = append(out, c.hazards()...)
	}
	return out, nil
}

// linerCohort is liners by group.
type linerCohort struct {
	LinerOptions
	rows   []LinerRow
	names  []string // of groups, sorted
	groups map[string][]survive.Liner
	all    []survive.Liner
	events []int // codes that there are, and that of a revision
	paired bool  // a patient has more than one liner
}

func newLinerCohort(rows []LinerRow, o LinerOptions) (*linerCohort, error) {
	if len(rows) == 0 {
		return nil, survive.ErrNone
	}
	c := &linerCohort{LinerOptions: o, rows: rows, groups: map[string][]survive.Liner{}, events: []int{survive.Revised}}
	if c.Years == nil {
		c.Years = LinerYears()
	}
	seen, patients := map[string]bool{}, map[string]bool{}
	for _, r := range rows {
		if seen[r.Hip] {
			return nil, NewError("liners.twice", Values{"Hip": r.Hip})
		}
		seen[r.Hip] = true
		if len(r.Covariates) != len(o.Covariates) {
			return nil, NewError("liners.covariates", Values{"Hip": r.Hip, "N": float64(len(r.Covariates)), "Of": float64(len(o.Covariates))})
		}
		l := survive.Liner{Years: r.Years, Event: r.Event, Patient: r.Patient}
		if c.groups[r.Group] == nil {
			c.names = append(c.names, r.Group)
		}
		c.groups[r.Group] = append(c.groups[r.Group], l)
		c.all = append(c.all, l)
		if r.Event > 0 && !slices.Contains(c.events, r.Event) {
			c.events = append(c.events, r.Event)
		}
		c.paired = c.paired || r.Patient != "" && patients[r.Patient]
		patients[r.Patient] = true
	}
	if len(c.names) > mostGroups {
		return nil, NewError("liners.groups", Values{"N": float64(len(c.names)), "Most": float64(mostGroups)})
	}
	slices.Sort(c.names)
	slices.Sort(c.events)
	return c, nil
}

// compete says whether there are events but a revision.
func (c *linerCohort) compete() bool { return len(c.events) > 1 }

// groupFault is a fault of a group, with the group's name where there is one.
func groupFault(group string, err error) error {
	if group == "" {
		return err
	}
	return NewError("liners.group", Values{"Group": group, "Why": NoteOf(err)})
}
