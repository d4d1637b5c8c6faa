package session

import (
	"context"
	"slices"
	"time"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// EventForm is the form in which an event of a hip is asked, with what the hip has since.
type EventForm struct {
	Form
	hip study.Hip
}

// EventForm returns an empty form for the open hip.
func (s *Session) EventForm() EventForm {
	fields := roster.EventFields()
	f := EventForm{hip: s.hip}
	f.Blocks = []Block{
		{say("asked.of-event"), asks(fields, roster.Subject{}, "event", "date", "note")},
		{say("asked.of-since"), asks(fields, roster.Subject{}, implantFields()...)},
	}
	f.ask(FieldEvent).Needed, f.ask(FieldDate).Needed = true, true
	f.ask(FieldEvent).Hint = say("asked.choose")
	for i, a := range f.Blocks[1].Asks {
		if a.Choices != nil {
			f.Blocks[1].Asks[i].Hint = say("asked.as-before")
		}
	}
	return f
}

// Event reads the form; now is the present time. What can be read is checked by
// study.Event.Validate.
func (f EventForm) Event(now time.Time) (study.Event, []FormFault) {
	var s roster.Subject
	faults := f.into(&s)
	e := s.Event
	e.HipID, e.Implant = f.hip.ID, s.Hip.Implant
	return e, f.join(faults, e.Validate(f.hip, now))
}

// The fields of an EventForm in which something is needed, beside FieldHead.
const (
	FieldEvent = "event"
	FieldDate  = "date"
)

// Events returns what happened to the open hip and is not taken back, in order of date.
func (b *Book) Events() ([]study.Event, error) {
	if b.store == nil || b.s.hip.ID == "" {
		return nil, nil
	}
	list, err := b.store.Events(context.Background(), b.s.hip.ID)
	return study.StandingEvents(list), err
}

// AddEvent saves an event of the open hip. Films after one that ends the series are of a later
// one from now on. Events are no steps of Undo: one that is wrong is taken back.
func (b *Book) AddEvent(e study.Event) error {
	switch {
	case b.store == nil || b.s.hip.ID == "":
		return ErrNoStudy
	case b.s.settings.Reader == "":
		return ErrNoReader
	}
	ctx := context.Background()
	e.HipID, e.Stamp = b.s.hip.ID, b.s.stamp()
	if _, err := b.store.AddEvent(ctx, e); err != nil {
		return err
	}
	hips, err := b.store.Hips(ctx)
	if err != nil {
		return err
	}
	if i := slices.IndexFunc(hips, func(h study.Hip) bool { return h.ID == e.HipID }); i >= 0 {
		b.s.showHip(hips[i], true)
	}
	return nil
}

// TakeBack takes an event of the open hip back. It is kept, and so is who took it back.
func (b *Book) TakeBack(eventID string) error {
	return b.AddEvent(study.Event{TakesBack: eventID})
}
