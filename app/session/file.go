package session

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// StudyPath returns the path of the open study file, or "".
func (s *Session) StudyPath() string { return s.storePath }

// ProposedStudyPath returns a name for a new study file: beside the films, named
// for the patient. It says nothing that may be corrected of a hip.
func (s *Session) ProposedStudyPath() string {
	name := "study"
	if s.hipKnown {
		name = safeName(s.hip.Patient)
	}
	dir := ""
	for _, f := range s.strip.films {
		if f.Path != "" {
			dir = filepath.Dir(f.Path)
			break
		}
	}
	return filepath.Join(dir, name+study.FileExt)
}

func safeName(s string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '_'
		}
		return r
	}, s)
}

// OpenStudy opens an existing study file and shows its first hip. Films without
// a saved reading that are open already are closed.
func (s *Session) OpenStudy(path string) error {
	if _, err := os.Stat(path); err != nil {
		return fmt.Errorf("session: study file: %w", err)
	}
	st, err := s.openStore(path)
	if err != nil {
		return err
	}
	hips, err := st.Hips(context.Background())
	if err != nil {
		return errors.Join(err, st.Close())
	}
	if err := s.take(st, path); err != nil {
		return err
	}
	s.hips = hips
	s.clear()
	s.history.forget()
	s.intake.films = nil
	if err := s.intake.load(); err != nil {
		return err
	}
	if len(hips) > 0 {
		return s.OpenHip(hips[0].ID)
	}
	s.changed(Everything)
	return nil
}

func (s *Session) openStore(path string) (study.Store, error) {
	if s.cfg.Studies.Open == nil {
		return nil, errors.New("session: no store is set up")
	}
	return s.cfg.Studies.Open(path)
}

// take makes st the open study file.
func (s *Session) take(st study.Store, path string) error {
	var left error // where the study is that was open, whose file has gone
	if s.store != nil {
		if err := s.drafts.Flush(); err != nil {
			return errors.Join(err, st.Close())
		}
		if err := s.store.Close(); errors.Is(err, study.ErrMoved) {
			left = err
		} else if err != nil {
			return errors.Join(err, st.Close())
		}
	}
	s.hold(st, path)
	s.overview.forget()
	if err := s.loadCounts(); err != nil {
		return err
	}
	s.remember(path)
	s.changed(StudyChanged)
	if left != nil {
		s.cfg.Post(func() { s.Say("%s", study.Plain(left)) })
	}
	return nil
}

// clear takes all films out of the strip. What can be undone of them stays.
func (s *Session) clear() {
	s.work.Cancel()
	s.drafts.leave()
	s.history.leave()
	s.strip.films, s.strip.selected, s.strip.chosen = nil, nil, false
	s.hip, s.hipKnown = study.Hip{}, false
	s.mouse.letGo()
	s.notice = notice{}
	s.conflict = nil
	s.retrend()
}

// CreateStudy opens the study file that readings go to from now on, making it
// where it does not exist, and saves the hip in it.
func (s *Session) CreateStudy(path string) error {
	if filepath.Ext(path) == "" {
		path += study.FileExt
	}
	st, err := batch.OpenOrCreate(path, s.cfg.Studies)
	if err != nil {
		return err
	}
	hips, err := st.Hips(context.Background())
	if err != nil {
		return errors.Join(err, st.Close())
	}
	for _, h := range hips {
		if s.hipKnown && h.Label() == s.hip.Label() {
			return errors.Join(fmt.Errorf("session: %s already holds hip %s: open that study file instead, and add the films to it",
				filepath.Base(path), h.Label()), st.Close())
		}
	}
	if err := s.take(st, path); err != nil {
		return err
	}
	s.hips = hips
	s.intake.saveAll()
	if err := s.intake.load(); err != nil {
		return err
	}
	if !s.hipKnown {
		return nil
	}
	old, h := s.hip.ID, s.hip
	h.ID, h.Revision = "", 0
	for _, f := range s.strip.films {
		f.saved, f.Revision = false, 0
	}
	if s.hip, err = s.saveHip(h); err != nil {
		return err
	}
	s.history.rename(old, s.hip.ID)
	return s.drafts.move()
}

// saveHip saves h in the study file and returns it as it is kept there.
func (s *Session) saveHip(h study.Hip) (study.Hip, error) {
	h, err := s.store.SaveHip(context.Background(), h, s.stamp())
	if err != nil {
		return h, s.clash(err)
	}
	s.overview.outdated(h.ID)
	i := slices.IndexFunc(s.hips, func(o study.Hip) bool { return o.ID == h.ID })
	if i < 0 {
		s.hips = append(s.hips, h)
	} else {
		s.hips[i] = h
	}
	return h, nil
}

// hipLabel returns what a hip of the study file is called.
func (s *Session) hipLabel(id string) string {
	if i := slices.IndexFunc(s.hips, func(h study.Hip) bool { return h.ID == id }); i >= 0 {
		return s.hips[i].Label()
	}
	return id
}

// OpenHip shows a hip of the open study file with its films and readings.
func (s *Session) OpenHip(id string) error {
	if s.store == nil {
		return ErrNoStudy
	}
	if err := s.drafts.Flush(); err != nil {
		return err
	}
	ctx := context.Background()
	hips, err := s.store.Hips(ctx) // another window may have changed them
	if err != nil {
		return err
	}
	films, err := s.store.Films(ctx, id)
	if err != nil {
		return err
	}
	readings, err := s.wholeReadings(ctx, id)
	if err != nil {
		return err
	}
	s.clear()
	s.hips = hips
	for _, h := range s.hips {
		if h.ID == id {
			s.hip, s.hipKnown = h, true
		}
	}
	for _, f := range films {
		s.strip.films = append(s.strip.films, &Film{Film: f, saved: true})
	}
	for _, r := range readings {
		if f := s.strip.ByID(r.FilmID); f != nil {
			f.Readings = append(f.Readings, r)
		}
	}
	for _, f := range s.strip.films {
		s.stand(f)
	}
	if err := s.loadExclusions(); err != nil {
		return err
	}
	unread := s.drafts.load()
	s.strip.sort()
	s.history.rejoin()
	s.strip.show(0)
	for _, f := range s.strip.films {
		s.work.need(f)
	}
	s.retrend()
	s.changed(Everything)
	return unread
}

// wholeReadings returns the readings of a hip with their edge points.
func (s *Session) wholeReadings(ctx context.Context, id string) ([]study.Reading, error) {
	list, err := s.store.Readings(ctx, id)
	for i := range list {
		p, perr := s.store.Points(ctx, list[i].ID)
		if perr != nil {
			return nil, perr
		}
		list[i] = list[i].With(p)
	}
	return list, err
}

// Accept saves the outlines of the selected film as the reader's reading. It is
// on disk when Accept returns without an error; with study.ErrMoved it counts, and is
// nowhere but in the open study. A later reading of the film by the
// same reader supersedes it, one by another reader stands beside it; none is ever
// overwritten. Undo withdraws it: it is kept and does not count.
func (s *Session) Accept() error {
	f := s.strip.selected
	if f == nil {
		return errors.New("session: no film is selected")
	}
	n := s.Numbers(f)
	if n.Err != nil {
		return fmt.Errorf("session: nothing to accept: %w", n.Err)
	}
	if err := s.mayAccept(); err != nil {
		return err
	}
	if why := s.intake.Contradiction(f); why != "" {
		return fmt.Errorf("%w: %s", ErrContradicts, why)
	}
	ctx, before := context.Background(), f.memory()
	if err := s.saveFilm(ctx, f); err != nil {
		return err
	}
	film := f.Film
	n.Film = film
	r := study.Reading{
		ID: newID(s.cfg.Now()), HipID: s.hip.ID, FilmID: film.ID, Reader: s.settings.Reader, At: s.cfg.Now().UTC(),
		Version: s.cfg.Version, Measurement: n.Measurement,
	}
	if own := f.standing(r.Reader); own != nil {
		r.Supersedes = own.ID // a reading of another reader stands beside it
	}
	if err := s.store.AddReading(ctx, r); err != nil {
		return err
	}
	if p, err := s.store.Points(ctx, r.ID); err == nil { // rounded, as every later computation has them
		r = r.With(p)
	}
	f.Readings = append(f.Readings, r)
	f.Accepted, f.changed = f.standing(s.counts), false
	s.overview.outdated(s.hip.ID)
	s.drafts.keep(f)
	if err := s.drafts.Flush(); err != nil {
		return err
	}
	s.history.record(change{name: "accept " + s.strip.label(f), film: f, before: before, after: f.memory(), reading: r.ID})
	s.retrend()
	s.changed(FilmsChanged | OutlineChanged)
	if fault := s.StudyFault(); errors.Is(fault, study.ErrMoved) {
		s.Say("%s", s.keptWords(fmt.Sprintf("Accepted: %s of %s", s.strip.label(f), f.DateText())))
		return fault
	}
	s.Say("Accepted and saved: %s of %s, reader %s.", s.strip.label(f), f.DateText(), r.Reader)
	return nil
}

// newID returns an identifier that sorts by time.
func newID(now time.Time) string {
	return now.UTC().Format("20060102T150405.000") + "-" + rand.Text()[:10]
}
