package session

import (
	"context"
	"image"
	"slices"
	"weak"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// decoded keeps count of the films whose pixels are in memory.
type decoded struct {
	s *Session

	clock    int   // counts looks at films
	fetching *Film // being read again; one at a time
}

// wasRead reports whether the film has been read since it was opened; its pixels
// may have been let go since.
func (f *Film) wasRead() bool { return f.size.X > 0 }

// tend reads again, in the background, what the reader sees or is about to see,
// and lets go of what was not looked at for long.
func (d *decoded) tend() {
	want := d.near()
	d.clock++
	for _, f := range slices.Backward(want) {
		f.seen = d.clock
		d.clock++
	}
	d.letGo(want)
	for _, f := range want {
		if f.pixels == nil && f.wasRead() && f.step >= Loaded && f.step != Failed {
			d.fetch(f)
			return
		}
	}
}

// near returns the films to be kept, the most needed first.
func (d *decoded) near() []*Film {
	i := d.s.strip.SelectedIndex()
	if i < 0 {
		return nil
	}
	list := []*Film{d.s.strip.films[i]}
	if d.s.viewer.compare != Alone {
		if o := d.s.viewer.Other(); o != nil {
			list = append(list, o)
		}
	}
	for _, k := range []int{i + 1, i - 1} {
		if k >= 0 && k < len(d.s.strip.films) && !slices.Contains(list, d.s.strip.films[k]) {
			list = append(list, d.s.strip.films[k])
		}
	}
	return list
}

// letGo drops the pixels of the films that were seen longest ago, until the rest
// fits.
func (d *decoded) letGo(want []*Film) {
	total := 0
	var held []*Film
	for _, f := range d.s.strip.films {
		if f.pixels != nil {
			total += len(f.pixels.Pix)
			held = append(held, f)
		}
	}
	slices.SortFunc(held, func(a, b *Film) int { return a.seen - b.seen })
	for _, f := range held {
		if total <= d.s.cfg.KeepBytes {
			return
		}
		if !slices.Contains(want, f) {
			total -= len(f.pixels.Pix)
			f.pixels = nil
		}
	}
}

// fetch reads the pixels of f again.
func (d *decoded) fetch(f *Film) {
	if d.fetching != nil {
		return // tend is called again when it is done
	}
	d.fetching = f
	path, sum := f.Path, f.Facts.SHA256
	d.s.work.queue.Start(jobs.Job{For: f, Aside: true, Dropped: func() { d.fetching = nil },
		Run: func(context.Context, jobs.Step) func() {
			img, err := d.reread(path, sum)
			return func() { d.fetched(f, img, err) }
		}})
}

// unread is the error of a film whose file could not be read again for its search.
type unread struct{ error }

// errChanged is the error of a film whose file is not what it was.
var errChanged = study.NewError("file.changed", nil)

func (d *decoded) reread(path, sum string) (*image.Gray16, error) {
	in, err := d.s.cfg.Open(path)
	switch {
	case err != nil:
		return nil, err
	case in.SHA256 != sum:
		return nil, errChanged
	}
	return in.Pixels, nil
}

func (d *decoded) fetched(f *Film, img *image.Gray16, err error) {
	d.fetching = nil
	switch {
	case d.s.strip.index(f) < 0: // taken out meanwhile
	case err != nil:
		d.s.work.failed(f, err)
	default:
		f.pixels = img
		if f == d.s.strip.selected || f == d.s.viewer.Other() {
			d.s.changed(SelectedChanged | ViewChanged)
		}
	}
	d.tend()
}

// search looks for head and cup. The pixels are held weakly, so that films which
// wait for their turn can be let go; a film let go is read again.
// as is the film as which it was found (batch.LookFor).
func (d *decoded) search(f *Film, opt find.Options) func(context.Context) (hips []measure.Hip, as *dicomio.Film, err error) {
	held, path, sum, file := weak.Make(f.pixels), f.Path, f.Facts.SHA256, f.file
	return func(ctx context.Context) ([]measure.Hip, *dicomio.Film, error) {
		img := held.Value()
		if img == nil {
			var err error
			if img, err = d.reread(path, sum); err != nil {
				return nil, file, unread{err}
			}
		}
		return batch.LookFor(ctx, file, img, opt, d.s.cfg.Detect)
	}
}
