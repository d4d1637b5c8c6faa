package session

import (
	"cmp"
	"image"
	"path/filepath"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// State says where the reading of a film stands.
type State int

// The states of a film.
const (
	Waiting   State = iota // not read yet
	Loading                // the file is being read, or is about to be
	Loaded                 // read; nothing looked for yet
	Searching              // outlines are being looked for, or are about to be
	Proposed               // outlines found by the program, not yet looked at
	Edited                 // outlines changed by the reader, not yet accepted
	Accepted               // accepted by a reader and saved
	Refused                // no hip replacement could be outlined
	Failed                 // the file could not be read
	Excluded               // left out of the trend by a reader
)

var stateCodes = [...]string{"state.waiting", "state.opening", "state.opened", "state.searching",
	"state.proposed", "state.edited", "state.accepted", "state.not-found", "state.failed", "state.left-out"}

// Words returns what is shown on the film.
func (st State) Words() string { return study.NoteWords(study.Note{Code: stateCodes[st]}) }

// findings are the outlines that the search found on a film.
type findings struct {
	proposal  *Draft   // the most convincing; nil where nothing was
	proposals []*Draft // all of them, in that order, or what was weighed and not taken
}

// Film is one film in the strip.
type Film struct {
	study.Film
	Reason   study.Note    // why it was refused or failed
	Preview  *image.Gray16 // small copy for the strip; nil until read
	Camera   Camera
	Level    Level
	Draft    *Draft           // outlines shown; nil where there are none
	Readings []study.Reading  // every saved one of this film, oldest first
	Accepted *study.Reading   // the one of them that counts; nil where none does
	Excluded *study.Exclusion // why a reader left it out of the trend; nil where it counts
	Imager   float64          // mm per pixel stated at the detector, 0 where not stated
	grades   []study.Grade    // of every reader, oldest first

	step  State
	other string // path of another file of the same picture
	findings
	saved   bool          // the study file keeps it as a film of the hip
	faulty  bool          // the study file keeps that its file could not be read
	changed bool          // Draft differs from Accepted
	since   bool          // another window has read it since Draft was changed, which Accept is to tell
	aimed   bool          // Camera has been set
	resized resized       // what the viewer's size has made of it
	inHand  bool          // the step is being done, not in line
	held    bool          // the study keeps it among those that wait, though it is in the strip
	taken   bool          // the reader has said that it is this hip's, whatever its file says
	carried bool          // not read yet when another hip was opened
	touched bool          // by the reader: do not move the camera again
	pixels  *image.Gray16 // nil before it is read, and after it was let go
	size    image.Point
	seen    int           // when it was looked at last, for letting go
	file    *dicomio.Film // what the file says, without its pixels, as far as it is believed
	read    *dicomio.Film // all that it says, where the search found that less is to be believed
	awaits  int           // counts acceptances, so that one that waits gives way to a later one
	turn    int           // counts changes of Draft, so that late results can be dropped
}

// State returns the state shown.
func (f *Film) State() State {
	switch {
	case f.Excluded != nil:
		return Excluded
	case f.Draft != nil && f.changed:
		return Edited
	case f.Accepted != nil:
		return Accepted
	case f.step == Failed, f.step < Proposed && f.Draft == nil:
		return f.step
	case f.Draft != nil:
		return Proposed
	}
	return f.step
}

// waits reports whether the film has yet to be read, as far as its file can be.
func (f *Film) waits() bool {
	st := f.State()
	return st != Accepted && st != Excluded && st != Failed
}

// InHand reports whether the file is being read, or the outlines looked for, and
// does not wait for its turn.
func (f *Film) InHand() bool { return f.inHand && (f.step == Loading || f.step == Searching) }

// Unreadable reports whether the film's own file could not be read, which can
// also be so for a film whose reading was accepted before.
func (f *Film) Unreadable() bool { return f.step == Failed }

// Pixels returns the film's picture, nil until it is read, and where it has been
// let go to save memory: it then comes back shortly after the film is selected.
func (f *Film) Pixels() *image.Gray16 { return f.pixels }

// Name returns the file's name without its folder.
func (f *Film) Name() string { return filepath.Base(f.Path) }

// Dated reports whether the film's date is known.
func (f *Film) Dated() bool { return !f.Date().IsZero() }

// DateText returns the film's date, or a word for none.
func (f *Film) DateText() string {
	if !f.Dated() {
		return say("strip.no-date")
	}
	return f.Date().Format("2006-01-02")
}

// Years returns the years from surgery to the film; ok is false where either
// date is unknown.
func (s *Session) Years(f *Film) (years float64, ok bool) {
	if !f.Dated() || s.hip.Surgery.IsZero() {
		return 0, false
	}
	return s.hip.Years(f.Date()), true
}

// preview returns img reduced to at most size pixels on its longer side, each
// pixel the mean of those it covers.
func preview(img *image.Gray16, size int) *image.Gray16 {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	if w == 0 || h == 0 {
		return nil
	}
	k := max(1, (max(w, h)+size-1)/size)
	out := image.NewGray16(image.Rect(0, 0, max(1, w/k), max(1, h/k)))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			mean := blockMean(img, x*k, y*k, k)
			i := out.PixOffset(x, y)
			out.Pix[i], out.Pix[i+1] = byte(mean>>8), byte(mean)
		}
	}
	return out
}

// blockMean returns the mean of the k by k block at (x0, y0), clipped to img.
func blockMean(img *image.Gray16, x0, y0, k int) uint32 {
	var sum uint64
	x1, y1 := min(x0+k, img.Rect.Dx()), min(y0+k, img.Rect.Dy())
	for y := y0; y < y1; y++ {
		row := img.Pix[y*img.Stride+2*x0 : y*img.Stride+2*x1]
		for i := 0; i < len(row); i += 2 {
			sum += uint64(row[i])<<8 | uint64(row[i+1])
		}
	}
	return uint32(sum / uint64((x1-x0)*(y1-y0)))
}

// View returns how f was taken; a film that does not say is AP.
func (s *Session) View(f *Film) study.View {
	if f == nil {
		return study.AP
	}
	return cmp.Or(f.View(), study.AP)
}
