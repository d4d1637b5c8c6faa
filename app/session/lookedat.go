package session

import (
	"context"

	"linerwatch/app/study"
)

// lookedAt is a study that is open to be read: what a reader would change in it is refused.
// What the program notes of its own, as outlines that are not accepted, is let go of.
type lookedAt struct{ study.Store }

// ReadOnly reports whether the open study is open to be read.
func (b *Book) ReadOnly() bool {
	if b.guard == nil {
		return false
	}
	_, is := b.guard.Store.(lookedAt)
	return is
}

// writable refuses a change of a study that is open to be read.
func (b *Book) writable() error {
	if b.ReadOnly() {
		return study.ErrReadOnly
	}
	return nil
}

// SaveHip implements study.Store.
func (lookedAt) SaveHip(context.Context, study.Hip, study.Stamp) (study.Hip, error) {
	return study.Hip{}, study.ErrReadOnly
}

// SaveFilm implements study.Store.
func (lookedAt) SaveFilm(context.Context, study.Film, study.Stamp) (study.Film, error) {
	return study.Film{}, study.ErrReadOnly
}

// AddFilms implements study.Store.
func (lookedAt) AddFilms(context.Context, []study.Film, study.Stamp) ([]study.Film, error) {
	return nil, study.ErrReadOnly
}

// DropFilm implements study.Store.
func (lookedAt) DropFilm(context.Context, string, study.Stamp) error {
	return study.ErrReadOnly
}

// SaveLink implements study.Store.
func (lookedAt) SaveLink(context.Context, study.Link, study.Stamp) error {
	return nil
}

// DropLink implements study.Store.
func (lookedAt) DropLink(context.Context, string, string, study.Stamp) error {
	return study.ErrReadOnly
}

// AddReading implements study.Store.
func (lookedAt) AddReading(context.Context, study.Reading) error {
	return study.ErrReadOnly
}

// AddNext implements study.Store.
func (lookedAt) AddNext(context.Context, study.Reading) error {
	return study.ErrReadOnly
}

// AddWithdrawal implements study.Store.
func (lookedAt) AddWithdrawal(context.Context, study.Withdrawal) error {
	return study.ErrReadOnly
}

// SaveDraft implements study.Store.
func (lookedAt) SaveDraft(context.Context, study.Draft) error {
	return nil
}

// DropDraft implements study.Store.
func (lookedAt) DropDraft(context.Context, string, string, study.DraftKind) error {
	return nil
}

// AddExclusion implements study.Store.
func (lookedAt) AddExclusion(context.Context, study.Exclusion) error {
	return study.ErrReadOnly
}

// AddLists implements study.Store.
func (lookedAt) AddLists(context.Context, []study.List, study.Stamp) ([]study.List, error) {
	return nil, study.ErrReadOnly
}

// AddUnblinding implements study.Store.
func (lookedAt) AddUnblinding(context.Context, study.Unblinding) error {
	return study.ErrReadOnly
}

// SetSetting implements study.Store.
func (lookedAt) SetSetting(context.Context, string, string, study.Stamp) error {
	return study.ErrReadOnly
}

// SavePatient implements study.Store.
func (lookedAt) SavePatient(context.Context, study.Patient, study.Stamp) (study.Patient, error) {
	return study.Patient{}, study.ErrReadOnly
}

// SaveSite implements study.Store.
func (lookedAt) SaveSite(context.Context, study.Site, study.Stamp) (study.Site, error) {
	return study.Site{}, study.ErrReadOnly
}

// SaveVariable implements study.Store.
func (lookedAt) SaveVariable(context.Context, study.Variable, study.Stamp) (study.Variable, error) {
	return study.Variable{}, study.ErrReadOnly
}

// Enter implements study.Store.
func (lookedAt) Enter(context.Context, study.Entries, study.Stamp) (study.Entries, error) {
	return study.Entries{}, study.ErrReadOnly
}

// AddEvent implements study.Store.
func (lookedAt) AddEvent(context.Context, study.Event) (study.Event, error) {
	return study.Event{}, study.ErrReadOnly
}

// AddGrade implements study.Store.
func (lookedAt) AddGrade(context.Context, study.Grade) error {
	return study.ErrReadOnly
}

// SetValues implements study.Store.
func (lookedAt) SetValues(context.Context, []study.Value, study.Stamp) error {
	return study.ErrReadOnly
}
