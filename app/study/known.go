package study

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"linerwatch/measure"
)

// Film is one film of a study: what its file says, and what a reader told in place
// of that. Its methods give what holds. Hips refer to it by links; a film of a pelvis
// with two replaced hips is one film of both.
type Film struct {
	ID    string // opaque
	Path  string // where the file was last
	Facts Facts
	Given Given

	Waits    Waits // why it belongs to no hip yet
	Reason   Note  // what stands behind Waits, for the reader
	Revision int   // counts what has been saved of the film; 0 for one that has not
}

// Facts is what a study keeps of what a film's file says. Zero values mean that the
// file does not say.
type Facts struct {
	SHA256   string // of the file, or of the picture where the film is one of several in it
	PixelKey string // names the picture by its content

	Patient     string    // code
	Date        time.Time // UTC midnight
	Side        measure.Side
	View        View
	Width       int
	Height      int
	SpacingMM   float64 // detector mm per pixel
	SpacingKind string
	SourceMM    float64        // source to detector, mm
	Field       *measure.Point // middle of the collimated field, px
	Axes        Axes           // how the patient lies on a lateral film
}

// Given is what a reader tells of a film in place of its file. Zero values leave what
// the file says.
type Given struct {
	Date     time.Time      `json:",omitzero"` // UTC midnight
	View     View           `json:",omitempty"`
	SourceMM float64        `json:",omitempty"` // source to detector, mm
	Center   *measure.Point `json:",omitempty"` // where the central ray meets the film, px
	Axes     Axes           `json:",omitzero"`  // how the patient lies on a lateral film
	Black    Black          `json:",omitempty"` // parts of the picture that tell who it is of
}

// Waits says why a film belongs to no hip yet.
type Waits string

// Why films wait.
const (
	Sorted     Waits = ""           // nothing stands in the way
	NotSorted  Waits = "not sorted" // it is not known of which hip it is
	NotAP      Waits = "not AP"     // another view than those that are read
	Unreadable Waits = "unreadable" // the file could not be read
)

// Date returns the day of the film, zero where it is not known.
func (f Film) Date() time.Time {
	if !f.Given.Date.IsZero() {
		return f.Given.Date
	}
	return f.Facts.Date
}

// View returns how the film was taken, empty where nothing tells it: it is then
// taken as AP.
func (f Film) View() View {
	if f.Given.View != "" {
		return f.Given.View
	}
	return f.Facts.View
}

// Side returns the side that the film is marked for.
func (f Film) Side() measure.Side { return f.Facts.Side }

// SourceMM returns the distance from source to detector, mm, 0 where it is not known.
func (f Film) SourceMM() float64 {
	if f.Given.SourceMM > 0 {
		return f.Given.SourceMM
	}
	return f.Facts.SourceMM
}

// Axes returns how the patient lies on a lateral film.
func (f Film) Axes() Axes {
	if f.Given.Axes != (Axes{}) {
		return f.Given.Axes
	}
	return f.Facts.Axes
}

// Refresh returns the film with what its file says now. A date and a view that the
// file does not state were given by a reader, where a study of before kept both
// alike; but for a date that is yet to come at today, which nobody may give: the file
// stated it once, and it is no longer taken.
func (f Film) Refresh(now Facts, today time.Time) Film {
	if now.Date.IsZero() && f.Given.Date.IsZero() && !f.Facts.Date.After(today.AddDate(0, 0, 1)) {
		f.Given.Date = f.Facts.Date
	}
	if f.Given.View == "" && f.Facts.View != now.View {
		f.Given.View = f.Facts.View
	}
	f.Facts = now
	return f
}

// NothingFound reports whether a search was refused because nothing of the head's size
// stood out: its diameter, the film's scale or its greys may be others than was thought.
func NothingFound(refused Note) bool {
	switch refused.Code {
	case "refusal.no-side", "refusal.small-film", "refusal.flat":
		return false
	}
	return refused.Code == "" || strings.HasPrefix(refused.Code, "refusal.") // without a code: of an earlier version
}

// SamePicture reports whether two files hold the same picture: by the key of their
// pixels, or where one of them has none, by their hash.
func (f Facts) SamePicture(g Facts) bool {
	if f.PixelKey != "" && g.PixelKey != "" {
		return f.PixelKey == g.PixelKey
	}
	return f.SHA256 != "" && f.SHA256 == g.SHA256
}

// Link says that a film is one of a hip, and how the search for the hip on it ended.
type Link struct {
	HipID, FilmID string
	Searched      Status // Measured where outlines were found; empty before the search
	Reason        Note   // why there are none
}

// SortFilms puts films in date order, undated ones first, and those of one day in order
// of ID.
func SortFilms(films []Film) {
	slices.SortFunc(films, func(a, b Film) int { return cmp.Or(a.Date().Compare(b.Date()), cmp.Compare(a.ID, b.ID)) })
}
