package session

import (
	"context"
	"errors"
	"image"

	"linerwatch/app/batch"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// previewSize is the longer side of a film's small copy, px.
const previewSize = 192

// need starts the next step of work on f where there is one to do.
func (w *Work) need(f *Film) {
	switch f.step {
	case Waiting:
		f.step, f.inHand = Loading, false
		path := f.Path
		w.start(f, Waiting, func(context.Context) func() {
			in, err := w.s.cfg.Open(path)
			if err != nil {
				return func() { w.failed(f, err) }
			}
			facts := source.FactsOf(in)
			small, level := preview(in.Pixels, previewSize), AutoLevel(in.Pixels)
			return func() {
				f.Preview, f.Level = small, level
				w.loaded(f, in, facts)
			}
		})
	case Loaded:
		if w.s.hipKnown && f.Draft == nil {
			w.detect(f)
		}
	}
}

func (w *Work) failed(f *Film, err error) {
	if w.tryOther(f) {
		return
	}
	if !f.saved && errors.Is(err, dicomio.ErrNoFilm) {
		w.picture(f)
		return
	}
	f.step, f.Reason = Failed, source.Fault(f.Path, err)
	switch {
	case !f.saved && f.Facts.SHA256 == "": // it was never a film: what was opened tells why
		w.s.intake.failed(f)
		w.outOf(f)
		w.settle()
		return
	case !f.saved:
		w.s.intake.failed(f)
	case !gone(f.Path): // one that is missing may be back when it is opened next
		f.faulty = true
		w.s.drafts.searched(f)
	}
	w.s.changed(FilmsChanged)
	if f == w.s.strip.selected {
		w.s.changed(SelectedChanged)
	}
	w.settle()
}

// Retry reads a film again whose file could not be read.
func (w *Work) Retry(f *Film) {
	if f == nil || f.step != Failed {
		return
	}
	w.again(f)
	w.s.changed(FilmsChanged | SelectedChanged)
}

func (w *Work) again(f *Film) {
	f.step, f.Reason = Waiting, study.Note{}
	w.need(f)
}

func (w *Work) loaded(f *Film, in *dicomio.Film, facts study.Facts) {
	if f.Facts.SHA256 != "" && !f.Facts.SamePicture(facts) {
		w.failed(f, study.WrapError(errChanged, "file.changed-read", nil))
		return
	}
	if g := w.twin(f, facts); g != nil {
		w.join(f, g, in, facts)
		return
	}
	if w.had(f, facts) {
		w.settle()
		return
	}
	f.step, f.Reason, f.pixels, f.size = Loaded, study.Note{}, in.Pixels, in.Pixels.Rect.Size()
	f.Imager = in.Geometry.Detector()
	file := *in
	file.Pixels = nil
	f.file = &file
	if f.Film = f.Refresh(facts, w.s.cfg.Now()); !f.saved {
		f.ID = facts.SHA256
	}
	if w.s.intake.sorted(f, in) {
		w.settle()
		return
	}
	w.s.strip.sort()
	if w.s.strip.selected == nil {
		w.s.strip.show(w.s.strip.index(f))
	}
	w.s.viewer.aim(f)
	if f.faulty {
		f.faulty = false
		w.s.drafts.searched(f)
	}
	w.s.changed(FilmsChanged | HipChanged)
	if f == w.s.strip.selected {
		w.s.changed(SelectedChanged | ViewChanged | OutlineChanged)
	}
	w.need(f)
	w.s.decoded.tend()
	w.settle()
}

// settle looks at the strip once every film is read.
func (w *Work) settle() {
	for _, f := range w.s.strip.films {
		if f.step == Waiting || f.step == Loading {
			return
		}
	}
	if w.settled(); w.s.strip.selected == nil {
		w.s.strip.show(0) // none can be read: the first says why
	}
}

// settled sorts the films that were read, and tells what was found.
func (w *Work) settled() {
	if t := &w.s.strip; !t.chosen || t.selected == nil {
		t.showFirst((*Film).wasRead)
	}
	w.s.intake.sortOut()
	w.s.course.renew()
	w.s.changed(HipChanged | FilmsChanged)
	w.s.intake.save()
	w.s.intake.hold()
	if w.fetches+w.listing > 0 {
		return // told once, when all have come
	}
	w.s.intake.tell()
	w.s.intake.sum(w.joined)
	w.sayJoined()
}

// detect looks for head and cup on f in the background.
func (w *Work) detect(f *Film) {
	f.step, f.Reason, f.inHand = Searching, study.Note{}, false
	if f.read != nil { // with another diameter its resolution may be right
		f.takenAs(f.read)
		f.read = nil
	}
	opt := w.options(f)
	search := w.s.decoded.search(f, opt)
	w.start(f, Loaded, func(ctx context.Context) func() {
		hips, as, err := search(ctx)
		return func() { w.detected(f, opt, hips, as, err) }
	})
	w.s.changed(FilmsChanged)
}

// options are what the search on f knows beforehand.
func (w *Work) options(f *Film) find.Options {
	opt := find.Options{HeadMM: w.s.hip.Implant.HeadMM, Spacing: f.Imager, Side: w.s.hip.Side}
	if w.s.View(f) == study.Lateral {
		opt.Side = measure.SideUnknown // the place on the film does not tell it
	}
	return opt
}

func (w *Work) detected(f *Film, opt find.Options, hips []measure.Hip, as *dicomio.Film, err error) {
	if opt != w.options(f) {
		f.step = Loaded // implant or view was changed meanwhile
		if w.s.hipKnown {
			w.detect(f)
		}
		return
	}
	if u := (unread{}); errors.As(err, &u) {
		w.failed(f, u.error)
		return
	}
	if as != nil && as != f.file {
		f.read = f.file
		f.takenAs(as)
	}
	f.step = Refused
	if err != nil {
		f.Reason = study.NoteOf(err)
		f.proposals = weighedOf(err, middlingShellMM/opt.HeadMM)
	} else if list := draftsOf(w.ofView(f, hips), opt.Side); len(list) > 0 {
		f.step = Proposed
		f.proposals, f.proposal = list, list[0]
	} else {
		f.Reason = study.Note{Code: "search.no-side", Values: study.Values{"Side": w.s.hip.Side.String()}}
	}
	if f.Draft == nil {
		f.Draft = f.proposal
		f.turn++
		w.s.viewer.aim(f)
	}
	w.s.drafts.searched(f)
	w.s.course.renewSoon()
	w.s.changed(FilmsChanged)
	if f == w.s.strip.selected {
		w.s.course.renewDue()
		w.s.changed(SelectedChanged | OutlineChanged | ViewChanged)
	}
}

// takenAs has the film go by what is stated in file, which may leave out what is not true of it.
func (f *Film) takenAs(file *dicomio.Film) {
	f.file, f.Imager = file, file.Geometry.Detector()
	f.Facts.SpacingMM, f.Facts.SpacingKind = source.SpacingOf(file)
}

// ofView returns the hips on f that are the one asked for, as far as its view tells.
func (w *Work) ofView(f *Film, hips []measure.Hip) []measure.Hip {
	if w.s.View(f) != study.Lateral {
		return hips
	}
	return batch.OnLateral(hips, image.Rectangle{Max: f.size}, w.s.hip.Side)
}

// searchAgain searches f for its new view, and reports whether it can.
func (w *Work) searchAgain(f *Film) bool {
	f.findings = findings{}
	if !f.changed && f.Accepted == nil {
		f.Draft = nil
	}
	if !w.s.hipKnown || !f.wasRead() || f.step < Searching || f.step == Failed {
		return false
	}
	if f.step != Searching { // else the search starts anew once it has ended
		w.detect(f)
	}
	return true
}
