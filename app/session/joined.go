package session

import (
	"errors"
	"io/fs"
	"os"
	"strings"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// joined is what became of files with a picture that was known, until it is told.
type joined struct {
	found       int            // films whose file had not been where it was
	pictures    []string       // names of files that are no radiographs
	doubles     []string       // names of files that are no films of their own
	copies      []copied       // files of films that the study has, which are still where they were
	contradicts []string       // where two files of one picture say otherwise of it
	fetched     string         // what has come from an archive
	hips        map[string]int // of films that are not in the strip, how many were opened, by ID
}

// Lost reports whether the film, whose picture is known, cannot be read where it was.
func (f *Film) Lost() bool { return f.step == Failed && f.Facts.SHA256 != "" }

// twin returns the film of the strip that has the picture of f, which was just opened.
func (w *Work) twin(f *Film, facts study.Facts) *Film {
	for _, g := range w.s.strip.films {
		if g != f && g.Facts.SamePicture(facts) {
			return g
		}
	}
	return nil
}

// join takes f, whose file was just read, out of the strip, where g is the same film.
// Where the file of g is lost, that of f is its file from now on.
func (w *Work) join(f, g *Film, in *dicomio.Film, facts study.Facts) {
	if f.saved && !g.saved && !g.changed { // the copy came before the study's own film
		w.leaveOut(g, f)
		w.copyOf(f, w.s.hip.ID, g.Film)
		w.loaded(f, in, facts)
		return
	}
	if len(f.Readings) > 0 { // two films of a study from before doubles were known
		w.failed(f, study.NewError("saved.double", study.Values{"Film": g.Name()}))
		return
	}
	w.leaveOut(f, g)
	file := f.Film
	file.Facts = facts
	if !g.saved || gone(g.Path) { // else it is a copy, which says so
		w.compare(file, g.Film)
	}
	switch {
	case g.Lost():
		g.Path, g.Preview, g.Level = f.Path, f.Preview, f.Level
		w.joined.found++
		w.loaded(g, in, facts)
		w.relocated(g)
		return
	case g.wasRead() && gone(g.Path): // since it was read
		g.Path = f.Path
		w.joined.found++
		w.relocated(g)
	case g.saved && !gone(g.Path):
		w.copyOf(g, w.s.hip.ID, file)
	case g.wasRead():
		w.joined.doubles = append(w.joined.doubles, f.Name())
	default: // its own file is still to be looked for
		g.other = f.Path
		w.joined.doubles = append(w.joined.doubles, f.Name())
	}
	w.s.changed(FilmsChanged)
	w.settle()
}

// picture takes f out of the strip, which is no radiograph.
func (w *Work) picture(f *Film) {
	w.joined.pictures = append(w.joined.pictures, f.Name())
	w.outOf(f)
	w.settle()
}

// outOf takes a film that was just opened out of the strip.
func (w *Work) outOf(f *Film) {
	w.s.drafts.unnote(f)
	if w.s.strip.drop(f) {
		w.s.strip.showFirst((*Film).wasRead)
	}
	w.s.changed(FilmsChanged)
}

// leaveOut takes f out of the strip, where g stands in its place.
func (w *Work) leaveOut(f, g *Film) {
	w.s.drafts.unnote(f)
	if w.s.strip.drop(f) {
		w.s.strip.show(w.s.strip.index(g))
	}
}

// tryOther goes on with another file of the same picture, where one is known.
func (w *Work) tryOther(f *Film) bool {
	if f.other == "" {
		return false
	}
	name := (&Film{Film: study.Film{Path: f.other}}).Name()
	f.Path, f.other = f.other, ""
	for i, d := range w.joined.doubles {
		if d == name {
			w.joined.doubles = append(w.joined.doubles[:i:i], w.joined.doubles[i+1:]...)
			break
		}
	}
	w.joined.found++
	w.relocated(f)
	w.again(f)
	return true
}

// relocated keeps where the file of f is now.
func (w *Work) relocated(f *Film) {
	if err := w.s.given.keep(f); err != nil {
		w.s.Say("%s", study.Told(err))
	}
}

// gone reports whether there is no file at path.
func gone(path string) bool {
	_, err := os.Stat(source.FileOf(path))
	return errors.Is(err, fs.ErrNotExist)
}

// sayJoined tells what became of the files whose picture was known, once all are read.
func (w *Work) sayJoined() {
	j := w.joined
	w.joined = joined{}
	var said []string
	if j.fetched != "" {
		said = append(said, j.fetched)
	}
	if j.found > 0 {
		said = append(said, say("joined.found-again", "N", j.found))
	}
	if n := len(j.copies); n > 0 {
		said = append(said, study.NoteWords(study.Note{Code: "joined.copies", Values: study.Values{"N": float64(n)}}))
	}
	if n := len(j.pictures); n > 0 {
		said = append(said, study.NoteWords(study.Note{Code: "joined.pictures", Values: study.Values{"N": float64(n), "Names": SomeOf(j.pictures, ", ")}}))
	}
	if n := len(j.doubles); n > 0 {
		said = append(said, say("joined.double", "Names", SomeOf(j.doubles, ", ")))
	}
	said = append(said, j.contradicts...)
	if said != nil {
		w.s.Say("%s", strings.Join(said, " "))
	}
}

// SomeOf lists names with a separator between them, of many the first few.
func SomeOf(names []string, between string) string {
	const few = 3
	if len(names) <= few+1 {
		return strings.Join(names, between)
	}
	return say("joined.more", "Names", strings.Join(names[:few], between), "N", len(names)-few)
}
