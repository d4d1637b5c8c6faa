package session

import (
	"context"
	"errors"
	"image"
	"os"
	"path/filepath"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
	"linerwatch/app/study"
)

// Outgoing are the films in the strip as they are to be written without what tells who
// they are of. Each is looked at before any is written.
type Outgoing struct {
	s       *Session
	films   []*Leaving
	at      int
	writing bool
	result  []study.Deidentified
	fault   error
}

// Leaving is one film to be written.
type Leaving struct {
	Path    string
	Picture *image.Gray // as it is stored; nil where it is not in front
	Places  []Place
	Shown   bool       // its picture has been in front
	Fault   study.Note // why it cannot be shown
	Unfit   bool       // it is no DICOM file, which alone says whose it is: it is not written
}

// Place is a part of a picture, in pixels of the film as stored.
type Place struct {
	Part  image.Rectangle
	Found bool // by the program; else the reader's
	Black bool // is to be made black
}

// Outgoing returns the films to be written without identity.
func (s *Session) Outgoing() *Outgoing { return &s.outgoing }

// Begin takes the films of the strip, those it has already with what was decided.
func (c *Outgoing) Begin() {
	var films []*Leaving
	for _, f := range c.s.strip.films {
		i := slices.IndexFunc(c.films, func(old *Leaving) bool { return old.Path == f.Path })
		switch {
		case i >= 0:
			films = append(films, c.films[i])
		case !slices.ContainsFunc(films, func(one *Leaving) bool { return one.Path == f.Path }):
			films = append(films, &Leaving{Path: f.Path, Places: c.marked(f)})
		}
	}
	c.films = films
	c.Show(min(c.at, max(len(films)-1, 0)))
}

// Films returns them all, and At the place of the one in front.
func (c *Outgoing) Films() []*Leaving { return c.films }

// At returns the place of the film in front.
func (c *Outgoing) At() int { return c.at }

// Front returns the film in front, nil where there is none.
func (c *Outgoing) Front() *Leaving {
	if c.at >= len(c.films) {
		return nil
	}
	return c.films[c.at]
}

// Show brings a film to the front and reads its picture. What looks like text is
// found when that is done first, and proposed to be made black.
func (c *Outgoing) Show(i int) {
	if i < 0 || i >= len(c.films) {
		c.s.changed(OutgoingChanged)
		return
	}
	if old := c.Front(); old != nil {
		old.Picture = nil
	}
	c.at = i
	f := c.films[i]
	c.s.work.queue.Start(jobs.Job{For: f, Aside: true, Run: func(context.Context, jobs.Step) func() {
		film, err := source.Frame(f.Path, 1, c.s.cfg.Now())
		var picture *image.Gray
		var found []image.Rectangle
		if err == nil {
			picture, found = film.Display(nil), film.Letters()
			unfit := film.Format != "DICOM"
			return func() { f.Unfit = unfit; c.shown(f, picture, found, nil) }
		}
		return func() { c.shown(f, nil, nil, err) }
	}})
	c.s.changed(OutgoingChanged)
}

// shown takes over what was read of a film.
func (c *Outgoing) shown(f *Leaving, picture *image.Gray, found []image.Rectangle, err error) {
	if c.Front() != f {
		return
	}
	if err != nil {
		f.Fault = source.Fault(f.Path, err)
	} else {
		f.Picture = picture
		if !f.Shown {
			for _, r := range found {
				f.Places = append(f.Places, Place{Part: r, Found: true, Black: true})
			}
		}
	}
	f.Shown = true
	c.s.changed(OutgoingChanged)
}

// Mark adds a part of the film in front that is to be made black, as far as it lies in
// the picture.
func (c *Outgoing) Mark(r image.Rectangle) {
	f := c.Front()
	if f == nil || f.Picture == nil {
		return
	}
	if r = r.Canon().Intersect(f.Picture.Rect); !r.Empty() {
		f.Places = append(f.Places, Place{Part: r, Black: true})
		c.keepMarks(f)
		c.s.changed(OutgoingChanged)
	}
}

// marked returns the places that were marked in a film before.
func (c *Outgoing) marked(f *Film) (out []Place) {
	parts, err := f.Given.Black.Parts()
	if err != nil {
		c.s.Say("%s", study.Told(err))
	}
	for _, r := range parts {
		out = append(out, Place{Part: r, Black: true})
	}
	return out
}

// keepMarks keeps with the film what the reader has marked in it.
func (c *Outgoing) keepMarks(of *Leaving) {
	var parts []image.Rectangle
	for _, p := range of.Places {
		if !p.Found {
			parts = append(parts, p.Part)
		}
	}
	for _, f := range c.s.strip.films {
		if f.Path != of.Path {
			continue
		}
		was := f.Given.Black
		f.Given.Black = study.BlackOf(parts)
		if err := c.s.given.keep(f); err != nil {
			f.Given.Black = was
			c.s.Say("%s", study.Told(err))
		}
	}
}

// Toggle turns the last of the places at a point of the film in front into one that is to be
// left, or that is to be made black; one of the reader's goes.
func (c *Outgoing) Toggle(at image.Point) {
	f := c.Front()
	if f == nil {
		return
	}
	for i, p := range slices.Backward(f.Places) {
		if !at.In(p.Part) {
			continue
		}
		if p.Found {
			f.Places[i].Black = !p.Black
		} else {
			f.Places = slices.Delete(f.Places, i, i+1)
			c.keepMarks(f)
		}
		c.s.changed(OutgoingChanged)
		return
	}
}

// Unseen returns how many films have not been in front yet.
func (c *Outgoing) Unseen() (n int) {
	for _, f := range c.films {
		if !f.Shown {
			n++
		}
	}
	return n
}

// Written reports whether the film can be written.
func (f *Leaving) Written() bool { return f.Fault.IsZero() && !f.Unfit }

// Writing reports whether the copies are being written.
func (c *Outgoing) Writing() bool { return c.writing }

// Result returns what became of the films when they were last written.
func (c *Outgoing) Result() ([]study.Deidentified, error) { return c.result, c.fault }

// Write writes all films into the folder out, with the key in the file at key, which is
// made where there is none. noTextLeft is the reader's statement that he has looked.
func (c *Outgoing) Write(key, out string, noTextLeft bool) {
	if c.writing || len(c.films) == 0 || c.Unseen() > 0 {
		return
	}
	opt := batch.DeidentifyOptions{Out: out, NoTextLeft: noTextLeft}
	var paths []string
	for _, f := range c.films {
		paths = append(paths, f.Path)
		for _, p := range f.Places {
			if p.Black {
				opt.BlackIn = append(opt.BlackIn, batch.BlackPart{Film: f.Path, Part: p.Part})
			}
		}
	}
	c.writing, c.result, c.fault = true, nil, nil
	done := func(films []study.Deidentified, err error) {
		c.writing, c.result, c.fault = false, films, err
		c.s.changed(OutgoingChanged)
	}
	c.s.work.queue.Start(jobs.Job{
		Run: func(ctx context.Context, step jobs.Step) func() {
			films, err := written(ctx, key, paths, opt, step)
			return func() { done(films, err) }
		},
		Dropped: func() { done(nil, study.NewError("outgoing.stopped", nil)) },
	})
	c.s.changed(OutgoingChanged)
}

// foldersOf returns the folders that films are in: no copies go below them.
func foldersOf(paths []string) (list []string) {
	for _, p := range paths {
		if dir := filepath.Dir(source.FileOf(p)); !slices.Contains(list, dir) {
			list = append(list, dir)
		}
	}
	return list
}

// written writes copies, and the days that dates were moved by with the key.
func written(ctx context.Context, key string, paths []string, opt batch.DeidentifyOptions, step jobs.Step) (films []study.Deidentified, err error) {
	if err := batch.CheckKeyFile(key, opt.Out); err != nil {
		return nil, err
	}
	for _, p := range []string{key, opt.Out} {
		if !filepath.IsAbs(p) { // it would go wherever the program was started
			return nil, study.NewError("outgoing.relative", study.Values{"Path": p})
		}
	}
	if err := batch.CheckDeidentifyOut(opt.Out, slices.Concat(paths, foldersOf(paths))); err != nil {
		return nil, err
	}
	if opt.Key, _, err = batch.DeidentifyKey(key); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(opt.Out, 0o755); err != nil {
		return nil, err
	}
	films, err = batch.Deidentify(ctx, paths, opt, step)
	return films, errors.Join(err, batch.NoteShifts(key, films))
}
