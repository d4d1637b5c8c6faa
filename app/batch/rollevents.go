package batch

import (
	"context"
	"slices"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// events takes the rows of a table of events. A death and the loss to follow-up are of every
// hip of the patient where no side is told.
func (r *roll) events(ctx context.Context, list []roster.Entry) error {
	r.fields = roster.EventFields()
	had := map[string][]study.Event{}
	seen := map[string]int{}
	for _, e := range list {
		said := e.Subject()
		whole := said.Event.Kind == study.Died || said.Event.Kind == study.Lost
		if r.keyless(e, said, !whole) {
			continue
		}
		of := r.named(said)
		if len(of) == 0 || len(of) > 1 && !whole {
			r.bad(e.Fault("patient", study.Note{Code: "row.no-hip", Values: study.Values{"N": float64(len(of))}}))
			continue
		}
		for _, i := range of {
			h := r.Roll.Hips[i]
			now := said.Event
			now.HipID, now.Implant = h.ID, said.Hip.Implant
			if bad := e.Faults(now.Validate(h, r.Now), r.fields); len(bad) > 0 {
				r.bad(bad...)
				break
			}
			one := h.ID + " " + string(now.Kind) + now.Date.String()
			if line := seen[one]; line > 0 {
				r.bad(e.Fault("event", study.Note{Code: "row.twice", Values: study.Values{"Hip": h.Label(), "Line": float64(line)}}))
				break
			}
			seen[one] = e.Line
			if err := r.event(ctx, had, h, now); err != nil {
				return err
			}
		}
	}
	return nil
}

// event notes an event of a hip, which takes back one of the same kind and day that says
// otherwise.
func (r *roll) event(ctx context.Context, had map[string][]study.Event, h study.Hip, now study.Event) error {
	if _, ok := had[h.ID]; !ok && h.Revision > 0 {
		list, err := r.st.Events(ctx, h.ID)
		if err != nil {
			return err
		}
		had[h.ID] = study.StandingEvents(list)
	}
	i := slices.IndexFunc(had[h.ID], func(e study.Event) bool { return e.Kind == now.Kind && e.Date.Equal(now.Date) })
	if i >= 0 {
		was := had[h.ID][i]
		if was.Implant == now.Implant && was.Note == now.Note {
			return nil
		}
		r.Corrected++
		r.Changes = append(r.Changes, h.Label()+": "+study.Words(study.EventKinds(), string(now.Kind))+" of "+now.Date.Format("2006-01-02"))
		r.Events = append(r.Events, study.Event{HipID: h.ID, TakesBack: was.ID})
	} else {
		r.Added++
	}
	r.Events = append(r.Events, now)
	return nil
}
