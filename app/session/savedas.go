package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"linerwatch/app/study"
)

// SaveAs writes the whole study to a new file in the background, goes on in that, and
// calls then. So nothing is lost of a study whose own file has gone from its place
// (study.ErrMoved).
func (b *Book) SaveAs(path string, then func(error)) {
	if b.store == nil {
		then(ErrNoStudy)
		return
	}
	path = withExt(strings.TrimSpace(path))
	if err := errors.Join(b.s.drafts.Keep(), b.s.intake.flush()); err != nil {
		then(err)
		return
	}
	g := b.guard
	was := g.writes.Load()
	copy := func() (study.Store, error) {
		if err := g.SaveAs(context.Background(), path); err != nil {
			return nil, err
		}
		return b.openStore(path)
	}
	b.fetch(path, copy, func(o arrived, err error) {
		switch {
		case err != nil:
		case b.guard != g:
			err = errors.Join(study.NewError("book.opened-meanwhile", nil), o.Close())
		case g.writes.Load() != was: // something was saved meanwhile, which the copy lacks
			if err = errors.Join(o.Close(), os.Remove(path)); err == nil {
				b.SaveAs(path, then)
				return
			}
		default:
			err = b.goOnIn(o, path)
		}
		then(err)
	})
}

// goOnIn makes a copy of the open study the open one.
func (b *Book) goOnIn(o arrived, path string) error {
	old := b.store
	b.hold(o.Store, path)
	b.remember(path)
	b.s.changed(StudyChanged)
	if err := old.Close(); err != nil && !errors.Is(err, study.ErrMoved) {
		return err
	}
	b.s.Say("%s", say("book.saved-as", "File", study.NameOf(path)))
	return nil
}

// FreePath proposes a new file for the study, of a name that is free.
func (b *Book) FreePath() string {
	own := b.s.cfg.StudyPath
	if b.path == "" && own != "" && gone(own) {
		return own
	}
	at := b.path
	if study.IsAddress(at) {
		at = ""
	}
	dir, name := filepath.Split(cmp.Or(at, own, b.ProposedPath()))
	name = strings.TrimSuffix(name, study.FileExt)
	for i := 2; ; i++ {
		if path := filepath.Join(dir, fmt.Sprintf("%s-%d%s", name, i, study.FileExt)); gone(path) {
			return path
		}
	}
}
