package study

import (
	"context"
	"fmt"
	"time"

	"linerwatch/assets/texts"
)

// Store keeps a study. Every method that writes is durable when it returns without an
// error. It may be used by several goroutines, and several programs may have one study
// open.
type Store interface {
	// Hips returns every hip in order of label and ID.
	Hips(ctx context.Context) ([]Hip, error)
	// SaveHip adds h where its Revision is 0, under an ID of the study's own where it has
	// none, and otherwise changes the hip that has its ID and its Revision. It returns the
	// hip as saved. Where another has been saved since, nothing is written and the error
	// is a *ConflictError.
	SaveHip(ctx context.Context, h Hip, by Stamp) (Hip, error)
	// HipChanges returns what the hip was before each time it was saved, oldest first.
	HipChanges(ctx context.Context, hipID string) ([]HipChange, error)

	// Patients returns every patient in order of site and code.
	Patients(ctx context.Context) ([]Patient, error)
	// SavePatient is to patients, by site and code, what SaveHip is to hips.
	SavePatient(ctx context.Context, p Patient, by Stamp) (Patient, error)
	// Sites returns every site in order of code.
	Sites(ctx context.Context) ([]Site, error)
	// SaveSite is to sites, by code, what SaveHip is to hips.
	SaveSite(ctx context.Context, s Site, by Stamp) (Site, error)

	// Events returns what happened to the hip, as it was entered, oldest first.
	Events(ctx context.Context, hipID string) ([]Event, error)
	// AddEvent adds an event without an ID and returns it with one. One that takes back
	// names an event of the same hip.
	AddEvent(ctx context.Context, e Event) (Event, error)
	// Grades returns every reader's grades of the hip's films, oldest first.
	Grades(ctx context.Context, hipID string) ([]Grade, error)
	// AddGrade adds a grade of one of the hip's films.
	AddGrade(ctx context.Context, g Grade) error

	// Variables returns every variable, in order of what they are of and of name.
	Variables(ctx context.Context) ([]Variable, error)
	// SaveVariable is to variables, by what they are of and name, what SaveHip is to hips.
	// One that the values it has would not be of is refused.
	SaveVariable(ctx context.Context, v Variable, by Stamp) (Variable, error)
	// Values returns what is known of a patient, hip or film, in order of name.
	Values(ctx context.Context, of VariableOf, id string) ([]Value, error)
	// SetValues sets values of variables that the study has, of patients, hips and films
	// that it has, all of them or none. An empty text is for a value that is not known.
	SetValues(ctx context.Context, list []Value, by Stamp) error
	// Enter saves what is entered together, all of it or nothing, and returns it as saved.
	// Each is saved as by its own method, in the order of the fields of Entries.
	Enter(ctx context.Context, e Entries, by Stamp) (Entries, error)

	// Films returns the hip's films in date order, undated ones first.
	Films(ctx context.Context, hipID string) ([]Film, error)
	// Unsorted returns the films of no hip, in date order.
	Unsorted(ctx context.Context) ([]Film, error)
	// FilmByPixels returns the film whose picture is that of a file (SamePicture).
	FilmByPixels(ctx context.Context, file Facts) (f Film, ok bool, err error)
	// SaveFilm is to films what SaveHip is to hips. The picture of another film is
	// refused with a *DoubleError.
	SaveFilm(ctx context.Context, f Film, by Stamp) (Film, error)
	// AddFilms adds films without an ID and a Revision, all of them or none. It returns
	// them as saved; in place of the picture of a film that the study has, or that stands
	// before it, that film.
	AddFilms(ctx context.Context, list []Film, by Stamp) ([]Film, error)
	// FilmChanges is to films what HipChanges is to hips.
	FilmChanges(ctx context.Context, filmID string) ([]FilmChange, error)
	// DropFilm forgets a film on which no reading, exclusion or grade rests, with its links,
	// drafts and values. There need be none.
	DropFilm(ctx context.Context, filmID string, by Stamp) error

	// Links returns the hip's links to its films, in the order of Films.
	Links(ctx context.Context, hipID string) ([]Link, error)
	// HipsOf returns the IDs of the hips that a film is one of, in order.
	HipsOf(ctx context.Context, filmID string) ([]string, error)
	// SaveLink makes a saved film one of a saved hip, or changes what is known of that.
	SaveLink(ctx context.Context, l Link, by Stamp) error
	// DropLink takes a film from a hip, with its drafts; refused where a reading, an
	// exclusion or a grade rests on it. There need be none.
	DropLink(ctx context.Context, hipID, filmID string, by Stamp) error

	// Readings returns every reading of the hip, oldest first, without edge points.
	Readings(ctx context.Context, hipID string) ([]Reading, error)
	// Points returns the edge points of a reading.
	Points(ctx context.Context, readingID string) (Points, error)
	// AddReading adds a reading of a hip on one of its films. It refuses an ID that
	// exists, a superseded reading of another hip or film, numbers that are not finite,
	// and what List.Check says of one of a list; ErrPlaceDone where its place is done.
	AddReading(ctx context.Context, r Reading) error
	// AddNext is AddReading of the reading that comes next of its reader on that film of
	// the hip, of those that are of no list: it supersedes the latest that stands, or none where none does. Where
	// that is another one by now the error is ErrReadSince, and nothing is saved.
	AddNext(ctx context.Context, r Reading) error
	// AddWithdrawal adds a decision about a reading, which itself stays as it is.
	AddWithdrawal(ctx context.Context, w Withdrawal) error

	// Drafts returns the drafts of the hip, the newest last.
	Drafts(ctx context.Context, hipID string) ([]Draft, error)
	// SaveDraft keeps d for one of the hip's films in place of an earlier one of its kind.
	SaveDraft(ctx context.Context, d Draft) error
	// DropDraft drops the draft of a kind. There need be none.
	DropDraft(ctx context.Context, hipID, filmID string, kind DraftKind) error

	// Exclusions returns every decision about the hip's films, oldest first.
	Exclusions(ctx context.Context, hipID string) ([]Exclusion, error)
	AddExclusion(ctx context.Context, e Exclusion) error

	// Lists returns every reading list, oldest first.
	Lists(ctx context.Context) ([]List, error)
	// AddLists adds lists without an ID, all of them or none, each with by as its Made. It
	// returns them as saved; ErrUnknown where a place is no film of its hip, List.StillRead of
	// one whose reader has a list to read, whichever program made that.
	AddLists(ctx context.Context, lists []List, by Stamp) ([]List, error)
	// ListDone returns which places of a list are done.
	ListDone(ctx context.Context, listID string) (Done, error)
	// AddUnblinding closes a list; ErrListClosed where it is closed.
	AddUnblinding(ctx context.Context, u Unblinding) error
	// ListDraft returns the draft of a place of a list, and whether there is one.
	ListDraft(ctx context.Context, listID string, place int) (d ListDraft, ok bool, err error)
	// SaveListDraft keeps d in place of an earlier one of its place; ErrUnknown where the list
	// is not there.
	SaveListDraft(ctx context.Context, d ListDraft) error
	// DropListDraft drops the draft of a place. There need be none.
	DropListDraft(ctx context.Context, listID string, place int) error

	// AddDisclosure adds to the trail that numbers were looked at or handed out.
	AddDisclosure(ctx context.Context, d Disclosure) error

	// Setting returns the value kept under key, and whether there is one.
	Setting(ctx context.Context, key string) (value string, ok bool, err error)
	SetSetting(ctx context.Context, key, value string, by Stamp) error

	// Record returns everything that the study keeps of a hip. Its readings have their
	// edge points where Record.Rereads says that they may be needed.
	Record(ctx context.Context, hipID string) (Record, error)
	// Records hands every hip's Record to each, in the order of Hips, all as they were at
	// one moment. It ends with the first error of each.
	Records(ctx context.Context, each func(Record) error) error

	// Trail hands every row of the audit trail to each, oldest first, all as it is at one
	// moment. It ends with the first error of each.
	Trail(ctx context.Context, each func(TrailRow) error) error
	// Disclosures returns what the trail tells of numbers that were looked at or handed out,
	// oldest first.
	Disclosures(ctx context.Context) ([]Disclosure, error)
	// TrailEnd returns the number and the hash of the last row of the audit trail, zero where it
	// has none.
	TrailEnd(ctx context.Context) (seq int64, hash string, err error)
	// Audit looks through the whole study: whether its trail is whole, and whether what it
	// keeps is what the trail says.
	Audit(ctx context.Context) (Audit, error)

	// Version returns a number that is another one once another program has saved
	// something in the study.
	Version(ctx context.Context) (int64, error)
	// Check waits for the check of the study that began when it was opened and returns
	// what it found; ErrMoved where the file is not the one that was opened.
	Check(ctx context.Context) error
	// SaveAs writes the whole study, as it stands in the open one, to a new file.
	SaveAs(ctx context.Context, path string) error
	Close() error
}

// Progress is told how many readings of an earlier version's study have been brought to
// the present form, of how many. It is called on the goroutine that opens the study.
type Progress func(done, of int)

// Files opens the study that is at a path, and creates one where there is none. A path may
// also be the address of a study on a server (IsAddress).
type Files struct {
	// Open opens a study. One of an earlier version of the program is brought to the
	// present form first, of which tell, which may be nil, is told; where ctx ends before
	// that is done, the error is that of ctx, and the file is as it was.
	Open   func(ctx context.Context, path string, tell Progress) (Store, error)
	Create func(path string) (Store, error)
	// Look opens a study to be read. Nothing is changed: one of an earlier version is
	// refused with ErrEarlier, and one that cannot be written is read all the same.
	Look func(ctx context.Context, path string) (Store, error)
	// Backup writes a whole copy of the study at path, which may be in use, to a folder, or
	// to that of its backups for "", and returns its path; nil where there are none.
	Backup func(ctx context.Context, path, dir string, now time.Time) (string, error)
	// Backups returns the paths of the study's backups, the oldest first; nil where there
	// are none.
	Backups func(path string) []string
	// Salvage writes what can still be read of a damaged study to a new one; nil where that
	// cannot be.
	Salvage func(ctx context.Context, path, out string, by Stamp) (Salvaged, error)
	// Copy makes a study of another with all that it holds; either may be a file or on a
	// server. It refuses to replace one; nil where that cannot be.
	Copy func(ctx context.Context, from, to string) error
	// Rewind makes a study file at out of what the study at path held at an earlier point of its
	// audit trail, and returns the last row of the trail then; nil where that cannot be.
	Rewind func(ctx context.Context, path, out string, to Then) (TrailRow, error)
	// Merge makes a study of two with all that both hold, or returns what they say otherwise
	// of one thing; sites are the codes that hips and patients of each get where they have
	// none. It is nil where that cannot be.
	Merge func(ctx context.Context, first, other, out string, sites [2]string, by Stamp) (Merged, error)
	// Earlier reports, without opening it, whether the file at path is a study of an
	// earlier version, which Open changes; nil is for studies that have but one form.
	Earlier func(path string) bool
}

// Merged is what was taken from another study, or why nothing was.
type Merged struct {
	Clashes []Note       // what the two say otherwise of one thing; nothing was written where there are any
	Kinds   []MergedKind // of tables of which the other had rows
	Trail   int          // rows of the other's audit trail that are kept
}

// MergedKind counts the rows of a table in the other study.
type MergedKind struct {
	Name        string
	Added, Same int
}

// Count returns the counts of a table.
func (m *Merged) Count(name string) *MergedKind {
	for i := range m.Kinds {
		if m.Kinds[i].Name == name {
			return &m.Kinds[i]
		}
	}
	m.Kinds = append(m.Kinds, MergedKind{Name: name})
	return &m.Kinds[len(m.Kinds)-1]
}

// BackingUp is a store that makes a backup by itself when it is opened and one is due.
type BackingUp interface {
	// NotBackedUp waits until it is known whether the backup could be made, and says why not;
	// nil where it was made, was not due, or ctx ends before. It is the same error until the
	// next one is due.
	NotBackedUp(ctx context.Context) error
}

// Salvaged is what was read of a damaged study, and what was not.
type Salvaged struct {
	Kinds   []SalvagedKind
	Version int // of its form
}

// SalvagedKind counts what was salvaged of one kind: films, readings, rows of the trail.
type SalvagedKind struct {
	Name   string // of its table
	Read   int    // rows that could be read
	Told   int    // others that the audit trail had whole
	Lost   int    // others that cannot be read, or that belong to such
	Unsure bool   // there may be more that are lost
}

// ErrMoved is the error of a study whose file is no longer at its place, or not the one
// that was opened. What was to be saved is in the open study, and is gone when that is
// closed: SaveAs keeps it.
var ErrMoved = NewError("file.moved", nil)

// ErrReadOnly is the error of changing a study that cannot be written, or is open to be read.
var ErrReadOnly = NewError("store.read-only", nil)

// ErrAway is the error of a study whose server cannot be reached. What was acknowledged is
// there; of what was being saved it is not known.
var ErrAway = NewError("central.unreachable", nil)

// ErrNotStudy is the error of a file that is no study.
var ErrNotStudy = NewError("file.no-study", nil)

// ErrDamaged is the error of a study of which a part cannot be read.
var ErrDamaged = NewError("file.damaged", nil)

// ErrEarlier is the error of a study of an earlier version that is not to be changed.
var ErrEarlier = NewError("file.earlier", nil)

// ErrUnknown is the error of a hip, film or reading that the study does not have.
var ErrUnknown = NewError("file.unknown", nil)

// ErrReadSince is the error of a reading whose reader has another one of the film by now.
var ErrReadSince = NewError("file.read-since", nil)

// ErrRests is the error of dropping a film on which a reading or an exclusion rests.
var ErrRests = NewError("file.rests", nil)

// Stamp says who made a change, when, with which version of the program, and why.
type Stamp struct {
	Reader  string
	At      time.Time
	Version string
	Why     string // free text; may be empty
}

// Entries is what is entered together, such as the tables of a study.
type Entries struct {
	Sites     []Site
	Patients  []Patient
	Hips      []Hip // a new one that others name has an ID of its own
	Variables []Variable
	Values    []Value
	Events    []Event
}

// HipChange is one saving of a hip; the first has a Before without an ID.
type HipChange struct {
	Stamp
	Before Hip
}

// FilmChange is one saving of a film; the first has a Before without an ID.
type FilmChange struct {
	Stamp
	Before Film
}

// Revised is what is saved by revision, such as a Hip or a Film.
type Revised interface{ label() Note }

func (h Hip) label() Note  { return Note{Code: "saved.hip", Values: texts.Values{"Name": h.Label()}} }
func (f Film) label() Note { return Note{Code: "saved.film", Values: texts.Values{"Name": f.Name()}} }

func (p Patient) label() Note {
	return Note{Code: "saved.patient", Values: texts.Values{"Name": p.Label()}}
}
func (s Site) label() Note { return Note{Code: "saved.site", Values: texts.Values{"Name": s.Code}} }
func (v Variable) label() Note {
	return Note{Code: "saved.variable", Values: texts.Values{"Name": v.Name}}
}

// ConflictError is the error of saving what another has saved since. Both are whole,
// and nothing was written.
type ConflictError struct{ Mine, Theirs Revised }

func (e *ConflictError) Error() string {
	return fmt.Sprintf("study: %s was changed elsewhere since it was opened", NoteWords(e.Theirs.label()))
}

// Says names what was changed.
func (e *ConflictError) Says() Note {
	return Note{Code: "saved.conflict", Values: texts.Values{"Of": e.Theirs.label()}}
}

// DoubleError is the error of a film whose picture the study has already.
type DoubleError struct{ Film Film }

func (e *DoubleError) Error() string {
	return fmt.Sprintf("study: the same picture as %s", e.Film.Name())
}

// Says names the film.
func (e *DoubleError) Says() Note {
	return Note{Code: "saved.double", Values: texts.Values{"Film": e.Film.Name()}}
}
