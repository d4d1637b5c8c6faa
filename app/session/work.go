package session

import (
	"context"
	"errors"
	"fmt"
	"image"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// work is what goes on in the background: a number of jobs, of which some are
// done. One context stops them all.
type work struct {
	ctx         context.Context
	stop        context.CancelFunc
	slots       int    // jobs that may be begun yet
	line        []task // those that wait
	done, total int

	steps, ofSteps int // within a long job
}

// previewSize is the longer side of a film's small copy, px.
const previewSize = 192

// Progress returns how many background jobs are done, and of how many; 0 of 0
// where nothing goes on.
func (s *Session) Progress() (done, total int) {
	return s.work.done + s.work.steps, s.work.total + s.work.ofSteps
}

// Cancel stops the background work. Films not reached stay as they are and can
// be taken up again with Resume.
func (s *Session) Cancel() {
	if s.work.stop == nil {
		return
	}
	s.work.stop()
	s.work = work{}
	for _, f := range s.films {
		switch f.step {
		case Loading:
			f.step = Waiting
		case Searching:
			f.step = Loaded
		}
	}
	s.changed(WorkChanged | FilmsChanged)
}

// Resume takes up what Cancel stopped.
func (s *Session) Resume() {
	for _, f := range s.films {
		s.need(f)
	}
}

// Idle reports whether films wait that Resume would take up.
func (s *Session) Idle() bool {
	if s.work.total > 0 {
		return false
	}
	for _, f := range s.films {
		if f.step == Waiting || f.step == Loaded && f.Draft == nil && s.hipKnown {
			return true
		}
	}
	return false
}

// task is a step of background work; film is nil where it is for no film in
// particular. run returns what is then done on the session's goroutine.
type task struct {
	film *Film
	run  func(ctx context.Context) (apply func())
}

// start runs a task in the background when its turn comes: the selected film goes
// first, the others in the order in which they were asked for.
func (s *Session) start(f *Film, run func(ctx context.Context) (apply func())) {
	w := &s.work
	if w.stop == nil {
		w.ctx, w.stop = context.WithCancel(context.Background())
		w.slots = max(1, min(runtime.NumCPU(), 4))
	}
	w.total++
	w.line = append(w.line, task{f, run})
	s.next()
	s.changed(WorkChanged)
}

// next gives the free slots to the tasks in line.
func (s *Session) next() {
	for w := &s.work; w.slots > 0 && len(w.line) > 0; w.slots-- {
		i := max(0, slices.IndexFunc(w.line, func(j task) bool { return j.film != nil && j.film == s.selected }))
		j := w.line[i]
		w.line = slices.Delete(w.line, i, i+1)
		if j.film != nil {
			j.film.inHand = true
		}
		ctx := w.ctx
		go func() {
			apply := j.run(ctx)
			s.cfg.Post(func() {
				if ctx.Err() == nil {
					s.finish(apply)
				}
			})
		}()
	}
}

func (s *Session) finish(apply func()) {
	s.work.done++
	s.work.slots++
	if apply != nil {
		apply()
	}
	s.next()
	if s.work.stop != nil && s.work.done == s.work.total {
		s.work.stop()
		s.work = work{}
	}
	s.changed(WorkChanged | FilmsChanged)
}

// Add reads the named films, and those in the named folders, in the background.
// A study file among them is opened.
func (s *Session) Add(paths []string) {
	var rest []string
	for _, p := range paths {
		if strings.EqualFold(filepath.Ext(p), study.FileExt) {
			if err := s.OpenStudy(p); err != nil {
				s.Say("%s", study.Plain(err))
			}
			continue
		}
		rest = append(rest, p)
	}
	if len(rest) == 0 {
		return
	}
	s.start(nil, func(context.Context) func() {
		list, err := dicomio.Expand(rest)
		return func() { s.added(rest, list, err) }
	})
}

func (s *Session) added(asked, list []string, err error) {
	if err != nil {
		s.Say("%s", study.Plain(err))
	}
	n := 0
	for _, p := range list {
		if abs, err := filepath.Abs(p); err == nil {
			p = abs // the study must find it from any working folder
		}
		if strings.EqualFold(filepath.Ext(p), study.FileExt) || s.byPath(p) != nil {
			continue
		}
		f := &Film{Film: study.Film{ID: p, Path: p}}
		s.films = append(s.films, f)
		s.need(f)
		n++
	}
	switch {
	case err != nil:
	case n == 0 && len(list) == 0:
		s.Say("No films found in %s.", strings.Join(asked, ", "))
	case n == 0:
		s.Say("These films are open already.")
	default:
		s.Say("%s", "")
	}
	s.sort()
	s.changed(FilmsChanged)
}

func (s *Session) byPath(path string) *Film {
	for _, f := range s.films {
		if f.Path == path {
			return f
		}
	}
	return nil
}

// need starts the next step of work on f where there is one to do.
func (s *Session) need(f *Film) {
	switch f.step {
	case Waiting:
		f.step, f.inHand = Loading, false
		path := f.Path
		s.start(f, func(context.Context) func() {
			in, err := s.cfg.Open(path)
			if err != nil {
				return func() { s.failed(f, err) }
			}
			facts := source.FactsOf(in)
			small, level := preview(in.Pixels, previewSize), AutoLevel(in.Pixels)
			return func() {
				f.Preview, f.Level = small, level
				s.loaded(f, in, facts)
			}
		})
	case Loaded:
		if s.hipKnown && f.Draft == nil {
			s.detect(f)
		}
	}
}

func (s *Session) failed(f *Film, err error) {
	f.step, f.Reason = Failed, strings.ReplaceAll(study.Plain(err), f.Path, f.Name())
	s.changed(FilmsChanged)
	if f == s.selected {
		s.changed(SelectedChanged)
	}
	s.settle()
}

func (s *Session) loaded(f *Film, in *dicomio.Film, facts study.Facts) {
	for _, g := range s.films {
		if g != f && g.wasRead() && g.Facts.SamePicture(facts) {
			s.failed(f, fmt.Errorf("the same picture as %s", g.Name()))
			return
		}
	}
	if f.Facts.SHA256 != "" && in.SHA256 != f.Facts.SHA256 {
		s.failed(f, errors.New("the file has changed since it was read; its accepted reading stands"))
		return
	}
	f.step, f.Reason, f.pixels, f.size = Loaded, "", in.Pixels, in.Pixels.Rect.Size()
	f.Imager = in.Geometry.Detector()
	file := *in
	file.Pixels = nil
	f.file = &file
	if f.Film = f.Refresh(facts); !f.saved {
		f.ID = facts.SHA256
	}
	s.sort()
	if s.selected == nil {
		s.show(s.index(f))
	}
	s.aim(f)
	s.changed(FilmsChanged | HipChanged)
	if f == s.selected {
		s.changed(SelectedChanged | ViewChanged | OutlineChanged)
	}
	s.need(f)
	s.tend()
	s.settle()
}

// settle looks at the strip once every film is read.
func (s *Session) settle() {
	for _, f := range s.films {
		if f.step == Waiting || f.step == Loading {
			return
		}
	}
	if !s.chosen || s.selected == nil {
		for i, f := range s.films {
			if f.wasRead() {
				s.show(i)
				break
			}
		}
	}
	if s.selected == nil {
		s.show(0) // none can be read: the first says why
	}
	s.retrend()
	s.changed(HipChanged | FilmsChanged)
}

// detect looks for head and cup on f in the background.
func (s *Session) detect(f *Film) {
	f.step, f.Reason, f.inHand = Searching, "", false
	opt := s.options(f)
	search := s.search(f, opt)
	s.start(f, func(ctx context.Context) func() {
		hips, err := search(ctx)
		return func() { s.detected(f, opt, hips, err) }
	})
	s.changed(FilmsChanged)
}

// options are what the search on f knows beforehand.
func (s *Session) options(f *Film) find.Options {
	opt := find.Options{HeadMM: s.hip.Implant.HeadMM, Spacing: f.Imager, Side: s.hip.Side}
	if s.View(f) == study.Lateral {
		opt.Side = measure.SideUnknown // the place on the film does not tell it
	}
	return opt
}

func (s *Session) detected(f *Film, opt find.Options, hips []measure.Hip, err error) {
	if opt != s.options(f) {
		f.step = Loaded // implant or view was changed meanwhile
		if s.hipKnown {
			s.detect(f)
		}
		return
	}
	f.step = Refused
	if err != nil {
		f.Reason = study.Plain(err)
		f.proposals = weighedOf(err, middlingShellMM/opt.HeadMM)
	} else if list := draftsOf(s.ofView(f, hips), opt.Side); len(list) > 0 {
		f.step = Proposed
		f.proposals, f.proposal = list, list[0]
	} else {
		f.Reason = fmt.Sprintf("no hip replacement found on the %s side", s.hip.Side)
	}
	if f.Draft == nil {
		f.Draft = f.proposal
		f.turn++
		s.aim(f)
	}
	s.retrend()
	s.changed(FilmsChanged)
	if f == s.selected {
		s.changed(SelectedChanged | OutlineChanged | ViewChanged)
	}
}

// ofView returns the hips on f that are the one asked for, as far as its view tells.
func (s *Session) ofView(f *Film, hips []measure.Hip) []measure.Hip {
	if s.View(f) != study.Lateral {
		return hips
	}
	return batch.OnLateral(hips, image.Rectangle{Max: f.size}, s.hip.Side)
}

// Remove takes a film without a reading out of the strip, as one named step.
func (s *Session) Remove(i int) {
	if i < 0 || i >= len(s.films) || len(s.films[i].Readings) > 0 {
		return
	}
	f := s.films[i]
	s.remove("take "+f.Name()+" out of the strip", f)
}

func (s *Session) remove(name string, films ...*Film) {
	if len(films) == 0 {
		return
	}
	each := func(do func(*Film)) {
		for _, f := range films {
			do(f)
		}
	}
	s.record(change{name: name, again: func(undo bool) error {
		if undo {
			each(s.putBack)
		} else {
			each(s.takeOut)
		}
		return nil
	}})
	each(s.takeOut)
}

func (s *Session) takeOut(f *Film) {
	i := s.index(f)
	if i < 0 {
		return
	}
	s.films = append(s.films[:i:i], s.films[i+1:]...)
	f.pixels = nil // read again where it is put back
	s.forgetDraft(f)
	if f == s.selected {
		s.selected = nil
		if len(s.films) > 0 {
			s.Select(min(i, len(s.films)-1))
		}
	}
	s.retrend()
	s.changed(Everything)
}

// putBack puts a film back that was taken out of the strip.
func (s *Session) putBack(f *Film) {
	if s.byPath(f.Path) == nil {
		if f.step == Searching {
			f.step = Loaded
		}
		s.films = append(s.films, f)
		s.sort()
		if f.Facts.SHA256 != "" {
			s.keep(f)
		}
	}
	s.Select(s.index(s.byPath(f.Path)))
	s.need(f)
	s.retrend()
	s.changed(Everything)
}
