package session

import (
	"context"
	"slices"

	"linerwatch/app/study"
)

// Dispute is a picture of which two files say otherwise whose it is or when it was taken:
// one of the two is wrong, and nobody but a reader can say which.
type Dispute struct {
	Kept study.Film // as it is here
	File study.Film // as the other file has it
}

// Says returns what either file says where they contradict each other.
func (d Dispute) Says() (kept, file string) {
	v := study.Contradiction(d.File, d.Kept).Values
	kept, _ = v["KeptSays"].(string)
	file, _ = v["Says"].(string)
	return kept, file
}

// same reports whether e is about the same two files.
func (d Dispute) same(e Dispute) bool {
	return d.File.Path == e.File.Path && d.File.Facts.SamePicture(e.File.Facts)
}

// Disputes returns those that no reader has settled since the study was opened.
func (in *Intake) Disputes() []Dispute { return in.disputes }

// compare notes where a file says otherwise than another of the same picture.
func (w *Work) compare(file, kept study.Film) {
	why := study.Contradiction(file, kept)
	if why.IsZero() {
		return
	}
	w.joined.contradicts = append(w.joined.contradicts, study.NoteWords(why))
	in := &w.s.intake
	in.leaveDispute(Dispute{kept, file})
	in.disputes = append(in.disputes, Dispute{kept, file})
}

func (in *Intake) leaveDispute(d Dispute) { in.disputes = slices.DeleteFunc(in.disputes, d.same) }

// Settle ends a dispute. With Theirs the film is from now on as the other file says, and that
// is its file; the study keeps what it was before. With Mine it stays as it is.
func (in *Intake) Settle(d Dispute, take Choice) error {
	if take == Theirs {
		if err := in.takeFile(d.File); err != nil {
			return err
		}
	}
	in.leaveDispute(d)
	in.s.changed(FilmsChanged | OverviewChanged)
	return nil
}

// takeFile makes a file that of the film with its picture: in the strip, among those that
// wait, or of another hip.
func (in *Intake) takeFile(file study.Film) error {
	s := in.s
	for _, f := range s.strip.films {
		if !f.Facts.SamePicture(file.Facts) {
			continue
		}
		was := f.Film
		f.Path, f.Facts = file.Path, file.Facts
		if err := s.given.keep(f); err != nil {
			f.Film = was
			return err
		}
		s.work.again(f)
		s.course.renew()
		return nil
	}
	at := in.index(file.Facts)
	var film study.Film
	if at >= 0 {
		film = in.films[at]
	} else if s.book.store != nil {
		var err error
		if film, _, err = s.book.store.FilmByPixels(context.Background(), file.Facts); err != nil {
			return err
		}
	}
	film.Path, film.Facts = file.Path, file.Facts
	if film.Revision > 0 {
		var err error
		if film, err = resave(context.Background(), s.book.store, film, s.stamp()); err != nil {
			return s.book.clash(err)
		}
		s.overview.outdatedAll()
	}
	if at >= 0 {
		in.films[at] = film
	}
	return nil
}
