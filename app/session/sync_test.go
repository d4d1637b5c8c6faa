package session

import (
	"context"
	"path/filepath"

	"linerwatch/app/study"
)

// now opens a study at once.
func (b *Book) now(path string, open func() (study.Store, error), take func(arrived, string) error) error {
	var o arrived
	if err := o.read(context.Background(), open); err != nil {
		return err
	}
	return take(o, path)
}

func (b *Book) open(path string) error {
	return b.now(path, func() (study.Store, error) { return b.existing(path) }, b.show)
}

func (b *Book) create(path string) error {
	path = withExt(path)
	return b.now(path, b.making(path, false), b.keepIn)
}

func (b *Book) fresh(path string) error {
	path = withExt(path)
	folder := filepath.Dir(path) == filepath.Dir(b.s.cfg.StudyPath)
	return b.now(path, b.making(path, folder), b.show)
}

// saveAs is SaveAs, waited for.
func (b *bench) saveAs(path string) (err error) {
	done := false
	b.book.SaveAs(path, func(e error) { err, done = e, true })
	for !done {
		b.one()
	}
	return err
}

// leftover is Leftover, waited for.
func (b *bench) leftover() (l Leftover, ok bool) {
	done := false
	b.book.Leftover(func(found Leftover, is bool) { l, ok, done = found, is, true })
	for !done {
		b.one()
	}
	return l, ok
}
