package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// arrived is a study that was opened, with its hips.
type arrived struct {
	study.Store
	hips []study.Hip
}

// fetch opens the study at path in the background, since another program may hold it for
// seconds, and then calls then.
func (b *Book) fetch(path string, open func() (study.Store, error), then func(arrived, error)) {
	o := &arrived{}
	b.coming = append(b.coming, o)
	here := func() bool { return slices.Contains(b.coming, o) }
	words := say("archive.being-opened", "File", study.NameOf(path))
	b.s.work.queue.After(2*glance, func() {
		if here() {
			b.s.Say("%s", words)
		}
	})
	b.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		err := o.read(context.WithoutCancel(ctx), open)
		return func() {
			b.coming = slices.DeleteFunc(b.coming, func(other *arrived) bool { return other == o })
			if b.s.Notice() == words {
				b.s.Say("%s", "")
			}
			then(*o, err)
			b.afterwards()
		}
	}})
}

// afterwards does what waited until no study is being opened.
func (b *Book) afterwards() {
	list := b.later
	if b.Opening() {
		return
	}
	b.later = nil
	for _, do := range list {
		do()
	}
}

// Opening reports whether a study is being opened.
func (b *Book) Opening() bool { return len(b.coming) > 0 }

// read opens the study and reads its hips.
func (o *arrived) read(ctx context.Context, open func() (study.Store, error)) error {
	st, err := open()
	if err != nil {
		return err
	}
	if o.hips, err = st.Hips(ctx); err != nil {
		return errors.Join(err, st.Close())
	}
	o.Store = st
	return nil
}

// existing opens a study that is there.
func (b *Book) existing(path string) (study.Store, error) {
	if _, err := os.Stat(path); err != nil && !study.IsAddress(path) {
		return nil, study.WrapError(err, "file.not-there", study.Values{"Why": study.NoteOf(err)})
	}
	if b.s.cfg.ReadOnly {
		return b.look(path)
	}
	st, err := b.openStore(path)
	if errors.Is(err, study.ErrReadOnly) {
		return b.look(path)
	}
	return st, err
}

// look opens a study that is there to be read.
func (b *Book) look(path string) (study.Store, error) {
	st, err := batch.Look(context.Background(), path, b.s.cfg.Studies)
	if err != nil {
		return nil, err
	}
	return lookedAt{st}, nil
}

// made opens the study at path, or makes it; where its folder is to be made as well, too.
func (b *Book) made(path string, folder bool) (study.Store, error) {
	if folder && !study.IsAddress(path) {
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, err
		}
	}
	return batch.OpenOrCreate(context.Background(), path, b.s.cfg.Studies)
}

// Open opens an existing study file, shows its first hip and calls then. One of an earlier
// version is brought to this version's form first (Adapting). Films without a saved reading
// that are open already are closed.
func (b *Book) Open(path string, then func(error)) {
	if b.s.cfg.ReadOnly { // an earlier version is refused, and not changed
		b.fetch(path, func() (study.Store, error) { return b.existing(path) }, func(o arrived, err error) {
			if err == nil {
				err = b.show(o, path)
			}
			then(err)
		})
		return
	}
	b.bring(path, func() (study.Store, error) { return b.existing(path) }, b.show, then)
}

// New makes a study, where there is none at path, opens it as Open does, and calls then.
func (b *Book) New(path string, then func(error)) {
	path = withExt(path)
	folder := filepath.Dir(path) == filepath.Dir(b.s.cfg.StudyPath) // proposed before it is there
	b.bring(path, b.making(path, folder), b.show, then)
}

// Create opens the study file that readings go to from now on, making it where it does
// not exist, saves the hip in it and calls then.
func (b *Book) Create(path string, then func(error)) {
	path = withExt(path)
	b.bring(path, b.making(path, false), b.keepIn, then)
}

// bring opens a study in the background, of this version's form, takes it on the session's
// goroutine, and then calls then.
func (b *Book) bring(path string, open func() (study.Store, error), take func(o arrived, path string) error, then func(error)) {
	b.adapt(path, func(err error) {
		if err != nil {
			then(err)
			return
		}
		b.fetch(path, open, func(o arrived, err error) {
			if err == nil {
				err = take(o, path)
			}
			then(err)
		})
	})
}
