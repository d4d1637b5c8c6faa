package session

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"

	"linerwatch/app/archive"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// Archives looks for films in image archives for a reader, in the background, one question
// at a time.
type Archives struct {
	s     *Session
	leave func() // the question that is out
}

// Archives returns what looks into image archives.
func (s *Session) Archives() *Archives { return &Archives{s: s, leave: func() {}} }

// Names returns the archives that are set.
func (a *Archives) Names() ([]string, error) {
	list, err := archive.Load(a.s.cfg.ArchivesPath)
	var names []string
	for _, s := range list {
		names = append(names, s.Name)
	}
	return names, err
}

// Last returns the archive that was asked last, "" where there is none.
func (a *Archives) Last() string { return a.s.settings.Archive }

// keepLast keeps which archive is asked.
func (a *Archives) keepLast(name string) {
	if a.s.settings.Archive == name {
		return
	}
	a.s.settings.Archive = name
	if err := a.s.remember(); err != nil {
		a.s.Say("%s", say("archive.last-not-kept", "Why", study.Told(err)))
	}
}

// open returns the archive of a name.
func (a *Archives) open(ctx context.Context, name string) (*archive.Archive, error) {
	list, err := archive.Load(a.s.cfg.ArchivesPath)
	if err != nil {
		return nil, err
	}
	set, err := archive.Named(list, name)
	if err != nil {
		return nil, err
	}
	return archive.Open(ctx, set, archive.Secrets{})
}

// Find hands the series of a patient to show; what was asked before is left.
func (a *Archives) Find(name, patient string, show func([]study.Series, error)) {
	a.Leave()
	a.keepLast(name)
	a.leave = a.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		list, err := a.series(ctx, name, patient)
		return func() { show(list, err) }
	}})
}

func (a *Archives) series(ctx context.Context, name, patient string) ([]study.Series, error) {
	from, err := a.open(ctx, name)
	if err != nil {
		return nil, err
	}
	defer from.Close()
	return from.Series(ctx, patient)
}

// Leave ends the question that is out; nothing more is handed over.
func (a *Archives) Leave() { a.leave() }

// Fetch fetches the films of series into the folder beside the study that is open, or that
// films go to where none is. Each is opened as soon as it has come; where films of another
// patient are open all together, once the last has come, since the reader is asked what
// becomes of them. Work.Stop stops it.
func (a *Archives) Fetch(name string, series []study.Series) {
	file := a.s.book.Path()
	if file == "" {
		file = a.s.cfg.StudyPath
	}
	if file == "" {
		a.s.Say("%s", study.NoteWords(study.Note{Code: "accept.no-study"}))
		return
	}
	stopped := false // the reader has, or has gone on to other films
	together := slices.ContainsFunc(a.s.strip.films, func(f *Film) bool {
		return f.Facts.Patient != "" && slices.ContainsFunc(series, func(s study.Series) bool { return s.Patient != f.Facts.Patient })
	})
	come := func(film string) {
		a.s.cfg.Post(func() {
			if !stopped && !together {
				a.s.strip.add([]string{film}, true)
			}
		})
	}
	a.s.work.fetches++
	a.s.work.queue.Start(jobs.Job{Dropped: func() {
		stopped = true
		a.s.work.fetches--
		a.s.cfg.Post(a.s.work.settle) // once whatever stops it is done
	}, Run: func(ctx context.Context, step jobs.Step) func() {
		films, err := a.fetch(ctx, name, series, archive.FilmFolder(file), func(done, total int, film string) {
			step(done, total)
			if film != "" {
				come(film)
			}
		})
		return func() {
			// Posted, to come after the films: an end may overtake them.
			a.s.cfg.Post(func() { a.fetched(name, films, together, err) })
		}
	}})
}

// ended says what has come with what became of the films, once they are read.
func (a *Archives) ended(said string) {
	w := &a.s.work
	w.fetches--
	w.joined.fetched = strings.TrimSpace(w.joined.fetched + " " + said)
	w.settle()
}

func (a *Archives) fetch(ctx context.Context, name string, series []study.Series, dir string, told func(done, total int, film string)) ([]study.Fetched, error) {
	from, err := a.open(ctx, name)
	if err != nil {
		return nil, err
	}
	defer from.Close()
	return from.Fetch(ctx, dir, series, told)
}

// fetched says what has come, and opens the films that have not been: those that were there
// already, and all of them where they are opened together.
func (a *Archives) fetched(name string, films []study.Fetched, together bool, err error) {
	var paths []string
	came, here, fault := 0, 0, ""
	for _, f := range films {
		switch {
		case f.Here:
			here++
			paths = append(paths, f.Path)
		case f.Path != "":
			came++
			if together {
				paths = append(paths, f.Path)
			}
		default:
			fault = f.Fault
		}
	}
	said := ""
	switch {
	case err != nil && !errors.Is(err, context.Canceled):
		said = say("archive.come-some", "N", came, "Of", len(films), "Archive", name, "Why", study.Told(err))
	case fault != "":
		said = say("archive.come", "N", came, "Of", len(films)-here, "Archive", name, "Why", fault)
	case len(films) == 0:
		said = say("archive.no-films-in", "Archive", name)
	default:
		said = say("archive.fetched", "N", came, "Archive", name, "Here", here)
	}
	if len(paths) == 0 {
		a.ended(said)
		return
	}
	a.s.work.fetches-- // it is told once these are read
	a.s.work.joined.fetched = said
	a.s.strip.add(paths, true)
}

// ArchiveSettings are what is set of an archive.
type ArchiveSettings = archive.Settings

// Set sets an archive, in place of another of its name, with its password in the system's
// keyring unless that is "", and asks whether it is there. Kept reports whether it is set;
// it may be and not answer, or send the password for all to read. What only the command sets,
// certificates and where films are received, stays as it is set of an archive of that name.
func (a *Archives) Set(set ArchiveSettings, password string, then func(kept bool, err error)) {
	if !set.Web() && set.Calling == "" {
		set.Calling = "LINERWATCH"
	}
	if err := set.Check(); err != nil {
		then(false, err)
		return
	}
	a.Leave()
	a.leave = a.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		kept, err := a.set(ctx, set, password)
		return func() { then(kept, err) }
	}})
}

func (a *Archives) set(ctx context.Context, set ArchiveSettings, password string) (kept bool, err error) {
	list, err := archive.Load(a.s.cfg.ArchivesPath)
	if err != nil {
		return false, err
	}
	for _, o := range list {
		if o.Name != set.Name {
			continue
		}
		set.CA, set.Cert, set.Key = cmp.Or(set.CA, o.CA), cmp.Or(set.Cert, o.Cert), cmp.Or(set.Key, o.Key)
		if !set.Web() {
			set.Receive = cmp.Or(set.Receive, o.Receive)
		}
	}
	if password != "" && set.User == "" {
		return false, study.NewError("archive.no-user", nil)
	}
	if password != "" && set.PasswordFile != "" {
		return false, study.NewError("archive.password-twice", nil)
	}
	if set, err = set.Whole(); err != nil {
		return false, err
	}
	if password != "" {
		if err := (archive.Secrets{}).Keep(ctx, set, password); err != nil {
			return false, err
		}
	}
	list = slices.DeleteFunc(list, func(o ArchiveSettings) bool { return o.Name == set.Name })
	if err := archive.Save(a.s.cfg.ArchivesPath, append(list, set)); err != nil {
		return false, err
	}
	from, err := a.open(ctx, set.Name)
	if err != nil {
		return true, err
	}
	defer from.Close()
	if err := from.Ask(ctx); err != nil || !set.Clear() {
		return true, err
	}
	return true, study.NewError("archive.clear", nil)
}
