package session

import (
	"context"
	"errors"

	"linerwatch/app/study"
)

// SaveStudyAs writes the whole study to a new file and goes on in that. So nothing is
// lost of a study whose own file has gone from its place (study.ErrMoved).
func (s *Session) SaveStudyAs(path string) error {
	if s.store == nil {
		return ErrNoStudy
	}
	flushed := s.FlushDrafts()
	if flushed != nil && !errors.Is(flushed, study.ErrMoved) {
		return flushed
	}
	if err := s.store.SaveAs(context.Background(), path); err != nil {
		return err
	}
	st, err := s.openStore(path)
	if err != nil {
		return err
	}
	old := s.store
	s.store, s.storePath = st, path
	s.remember(path)
	s.changed(StudyChanged)
	s.checkStudy()
	if err := old.Close(); err != nil && !errors.Is(err, study.ErrMoved) {
		return err
	}
	return nil
}
