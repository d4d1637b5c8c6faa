package session

import (
	"context"
	"errors"
	"image"
	"slices"
	"weak"

	"linerwatch/app/batch"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// decoded keeps count of the films whose pixels are in memory.
type decoded struct {
	clock    int   // counts looks at films
	fetching *Film // being read again; one at a time
}

// wasRead reports whether the film has been read since it was opened; its pixels
// may have been let go since.
func (f *Film) wasRead() bool { return f.size.X > 0 }

// tend reads again, in the background, what the reader sees or is about to see,
// and lets go of what was not looked at for long.
func (s *Session) tend() {
	want := s.near()
	d := &s.decoded
	d.clock++
	for _, f := range slices.Backward(want) {
		f.seen = d.clock
		d.clock++
	}
	s.letGo(want)
	for _, f := range want {
		if f.pixels == nil && f.wasRead() && f.step >= Loaded && f.step != Failed {
			s.fetch(f)
			return
		}
	}
}

// near returns the films to be kept, the most needed first.
func (s *Session) near() []*Film {
	i := s.SelectedIndex()
	if i < 0 {
		return nil
	}
	list := []*Film{s.films[i]}
	if s.compare != Alone {
		if o := s.Other(); o != nil {
			list = append(list, o)
		}
	}
	for _, k := range []int{i + 1, i - 1} {
		if k >= 0 && k < len(s.films) && !slices.Contains(list, s.films[k]) {
			list = append(list, s.films[k])
		}
	}
	return list
}

// letGo drops the pixels of the films that were seen longest ago, until the rest
// fits.
func (s *Session) letGo(want []*Film) {
	total := 0
	var held []*Film
	for _, f := range s.films {
		if f.pixels != nil {
			total += len(f.pixels.Pix)
			held = append(held, f)
		}
	}
	slices.SortFunc(held, func(a, b *Film) int { return a.seen - b.seen })
	for _, f := range held {
		if total <= s.cfg.KeepBytes {
			return
		}
		if !slices.Contains(want, f) {
			total -= len(f.pixels.Pix)
			f.pixels = nil
		}
	}
}

// fetch reads the pixels of f again.
func (s *Session) fetch(f *Film) {
	if s.decoded.fetching != nil {
		return // tend is called again when it is done
	}
	s.decoded.fetching = f
	path, sum := f.Path, f.Facts.SHA256
	go func() {
		img, err := s.reread(path, sum)
		s.cfg.Post(func() { s.fetched(f, img, err) })
	}()
}

// errChanged is the error of a film whose file is not what it was.
var errChanged = errors.New("session: the file has changed since it was read")

func (s *Session) reread(path, sum string) (*image.Gray16, error) {
	in, err := s.cfg.Open(path)
	switch {
	case err != nil:
		return nil, err
	case in.SHA256 != sum:
		return nil, errChanged
	}
	return in.Pixels, nil
}

func (s *Session) fetched(f *Film, img *image.Gray16, err error) {
	s.decoded.fetching = nil
	switch {
	case s.index(f) < 0: // taken out meanwhile
	case err != nil:
		s.failed(f, err)
	default:
		f.pixels = img
		if f == s.selected || f == s.Other() {
			s.changed(SelectedChanged | ViewChanged)
		}
	}
	s.tend()
}

// search looks for head and cup. The pixels are held weakly, so that films which
// wait for their turn can be let go; a film let go is read again.
func (s *Session) search(f *Film, opt find.Options) func(context.Context) ([]measure.Hip, error) {
	held, path, sum, file := weak.Make(f.pixels), f.Path, f.Facts.SHA256, f.file
	return func(ctx context.Context) ([]measure.Hip, error) {
		img := held.Value()
		if img == nil {
			var err error
			if img, err = s.reread(path, sum); err != nil {
				return nil, err
			}
		}
		return batch.Search(ctx, file, img, opt, s.cfg.Detect)
	}
}
