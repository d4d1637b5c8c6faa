package session

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
)

// EventForm is the text of the form in which an event of a hip is asked.
type EventForm struct {
	Kind   study.EventKind
	Date   string
	HeadMM string // that the hip has since, where that is another one
	Note   string
}

// Event reads the form for a hip; now is the present time. Faults name the fields date, event
// and head, and others as study.Event has them.
func (f EventForm) Event(h study.Hip, now time.Time) (e study.Event, faults []FormFault) {
	e = study.Event{HipID: h.ID, Kind: f.Kind, Note: strings.TrimSpace(f.Note)}
	var err error
	if text := strings.TrimSpace(f.Date); text != "" {
		if e.Date, err = time.Parse(time.DateOnly, text); err != nil {
			faults = append(faults, FormFault{FieldDate, say("events.bad-date")})
		}
	}
	if text := strings.TrimSpace(f.HeadMM); text != "" {
		e.Implant.HeadMM, err = strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
		if err != nil || math.IsNaN(e.Implant.HeadMM) {
			e.Implant.HeadMM = 0
			faults = append(faults, FormFault{FieldHead, say("events.bad-head")})
		}
	}
	return e, append(faults, newFaults(e.Validate(h, now), faults)...)
}

// The fields of an EventForm beside FieldHead.
const (
	FieldDate  = "date"
	FieldEvent = "event"
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
