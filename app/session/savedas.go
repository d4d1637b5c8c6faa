package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"linerwatch/app/study"
)

// SaveAs writes the whole study to a new file and goes on in that. So nothing is
// lost of a study whose own file has gone from its place (study.ErrMoved).
func (b *Book) SaveAs(path string) error {
	if b.store == nil {
		return ErrNoStudy
	}
	path = withExt(strings.TrimSpace(path))
	if err := errors.Join(b.s.drafts.Flush(), b.s.intake.flush()); err != nil {
		return err
	}
	if err := b.store.SaveAs(context.Background(), path); err != nil {
		return err
	}
	st, err := b.openStore(path)
	if err != nil {
		return err
	}
	old := b.store
	b.hold(st, path)
	b.remember(path)
	b.s.changed(StudyChanged)
	if err := old.Close(); err != nil && !errors.Is(err, study.ErrMoved) {
		return err
	}
	b.s.Say("The study is saved as %s, and work goes on there.", filepath.Base(path))
	return nil
}

// FreePath proposes a new file for the study, of a name that is free.
func (b *Book) FreePath() string {
	own := b.s.cfg.StudyPath
	if b.path == "" && own != "" && gone(own) {
		return own
	}
	dir, name := filepath.Split(cmp.Or(b.path, own, b.ProposedPath()))
	name = strings.TrimSuffix(name, study.FileExt)
	for i := 2; ; i++ {
		if path := filepath.Join(dir, fmt.Sprintf("%s-%d%s", name, i, study.FileExt)); gone(path) {
			return path
		}
	}
}
