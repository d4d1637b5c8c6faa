package session

import (
	"cmp"
	"context"
	"errors"
	"image"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// MeasureOptions guide Measure. HeadMM is required.
type MeasureOptions struct {
	HeadMM float64      // nominal head diameter, mm
	Side   measure.Side // the hip wanted; SideUnknown for every replaced hip

	BeamOff  bool    // leave the readings uncorrected for the cone beam
	SourceMM float64 // source to detector of all films, mm; 0 for what each file says
	Given    []Given // what is stated about single films
}

// Measure opens films, finds head and cup on each with nobody looking, and
// reads them. Folders stand for the films in them. The result is in the order
// of paths, one measurement per film, or one per hip where both hips are
// replaced and no side is asked for; a film that fails or is refused is in it
// with its reason. The errors are that of ctx and *GivenError.
//
// Films are measured in parallel, each worker holding one film's pixels.
// progress may be nil; it is called from one goroutine at a time.
func Measure(ctx context.Context, paths []string, opt MeasureOptions, progress func(done, total int)) ([]study.Measurement, error) {
	jobs := expand(paths)
	if err := checkGiven(opt.Given, jobs); err != nil {
		return nil, err
	}
	results := make([][]study.Measurement, len(jobs))
	err := parallel(ctx, len(jobs), progress, func(i int) {
		if jobs[i].fault != "" {
			results[i] = []study.Measurement{failed(jobs[i].path, jobs[i].fault)}
			return
		}
		results[i] = measureFile(ctx, jobs[i].path, opt)
	})
	if err != nil {
		return nil, err
	}
	var out []study.Measurement
	for _, r := range results {
		out = append(out, r...)
	}
	return out, nil
}

// parallel calls work(0) to work(n-1) on all processors and stops early where
// ctx ends.
func parallel(ctx context.Context, n int, progress func(done, total int), work func(i int)) error {
	next := make(chan int)
	var wg sync.WaitGroup
	var mu sync.Mutex
	done := 0
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := range next {
				if ctx.Err() == nil {
					work(i)
				}
				mu.Lock()
				done++
				if progress != nil {
					progress(done, n)
				}
				mu.Unlock()
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return ctx.Err()
}

// job is one file to look at, or the reason why there is none.
type job struct{ path, fault string }

// expand replaces folders by the films in them.
func expand(paths []string) []job {
	var jobs []job
	for _, p := range paths {
		files, err := dicomio.Expand([]string{p})
		switch {
		case err != nil:
			jobs = append(jobs, job{p, fault(p, err)})
		case len(files) == 0:
			jobs = append(jobs, job{p, "the folder holds no film"})
		}
		for _, f := range files {
			jobs = append(jobs, job{path: f})
		}
	}
	return jobs
}

// fault returns the text of err without the path, which is told beside it.
func fault(path string, err error) string {
	return strings.TrimPrefix(study.Plain(err), path+": ")
}

func failed(path, reason string) study.Measurement {
	return study.Measurement{
		Film:   study.Film{ID: path, Path: path},
		Status: study.Failed, Reason: reason,
	}
}

// measureFile measures one film and lets go of its pixels.
func measureFile(ctx context.Context, path string, opt MeasureOptions) []study.Measurement {
	f, err := dicomio.Open(path)
	if err != nil {
		return []study.Measurement{failed(path, fault(path, err))}
	}
	return MeasureFilm(ctx, f, opt)
}

// MeasureFilm measures an opened film as Measure does.
func MeasureFilm(ctx context.Context, f *dicomio.Film, opt MeasureOptions) []study.Measurement {
	f, err := ready(f)
	if err != nil {
		return []study.Measurement{failed(f.Path, fault(f.Path, err))}
	}
	m := study.Measurement{Film: FilmOf(f), HeadMM: opt.HeadMM}
	err = opt.state(&m)
	refused := func(status study.Status, reason string) []study.Measurement {
		m.Status, m.Reason = status, reason
		return []study.Measurement{m}
	}
	if err != nil {
		return refused(study.Failed, study.Plain(err))
	}
	want := find.Options{HeadMM: opt.HeadMM, Spacing: f.Geometry.Detector(), Side: opt.Side}
	lateral := m.Film.View == study.Lateral
	if lateral {
		want.Side = measure.SideUnknown // the place on the film does not tell it
	}
	hips, err := detect(ctx, f, f.Pixels, want, find.Hips)
	var no *measure.Refusal
	switch {
	case errors.As(err, &no):
		return refused(study.Refused, no.Reason)
	case err != nil:
		return refused(study.Failed, study.Plain(err))
	}
	if lateral {
		hips = onLateral(hips, f.Pixels.Rect, cmp.Or(opt.Side, m.Film.Side))
	}
	if opt.Side == measure.SideUnknown && !lateral {
		hips = byTag(hips, m.Film.Side)
	}
	var out []study.Measurement
	for _, h := range hips {
		out = append(out, measureHip(f, m, h, !opt.BeamOff))
	}
	return out
}

// onLateral returns the hip nearest to the middle of a lateral film as that of
// side, without the doubts about sides, which are those of AP films.
func onLateral(hips []measure.Hip, film image.Rectangle, side measure.Side) []measure.Hip {
	if len(hips) == 0 {
		return nil
	}
	off := func(h measure.Hip) float64 {
		return math.Hypot(h.Cup.X-float64(film.Dx())/2, h.Cup.Y-float64(film.Dy())/2)
	}
	h := slices.MinFunc(hips, func(a, b measure.Hip) int { return cmp.Compare(off(a), off(b)) })
	h.Side = side
	h.Warnings = slices.DeleteFunc(slices.Clone(h.Warnings), func(w measure.Warning) bool {
		return w.Code == measure.SideUnproven || w.Code == measure.SideContradicts
	})
	return []measure.Hip{h}
}

// byTag lets the file's laterality tell the side of a single hip that the film
// itself does not tell. What the film tells is kept; filmWarnings says where the
// file contradicts it.
func byTag(hips []measure.Hip, tag measure.Side) []measure.Hip {
	unproven := func(w measure.Warning) bool { return w.Code == measure.SideUnproven }
	if len(hips) != 1 || tag == measure.SideUnknown || !slices.ContainsFunc(hips[0].Warnings, unproven) {
		return hips
	}
	h := hips[0]
	h.Side, h.Warnings = tag, slices.DeleteFunc(slices.Clone(h.Warnings), unproven)
	return []measure.Hip{h}
}

// measureHip reads one hip found on f; m holds what is known of it.
func measureHip(f *dicomio.Film, m study.Measurement, h measure.Hip, beam bool) study.Measurement {
	m.Side = h.Side
	refused := m
	m.Head, m.Cup, m.CupKind = h.Head, h.Cup, h.CupKind
	if !m.Rim.Drawn() { // a line that is given goes before
		m.Rim = study.ProposeRim(h)
	}
	m, err := m.Read(study.Method{Beam: beam, Line: true})
	if err != nil {
		refused.Status, refused.Reason = study.Refused, study.Plain(err)
		return refused
	}
	m.Status = study.Measured
	m.Warnings = filmWarnings(f, h, m)
	return m
}

// filmWarnings says what a reader should weigh about an unattended reading.
func filmWarnings(f *dicomio.Film, h measure.Hip, m study.Measurement) []study.Warning {
	var out []study.Warning
	for _, text := range f.Warnings {
		out = append(out, study.Warning{Code: study.WarnFile, Text: text})
	}
	for _, w := range h.Warnings {
		if w.Code != measure.Magnification { // said below of these outlines, with the limits
			out = append(out, w)
		}
	}
	if s := f.Geometry.Detector(); s == 0 {
		out = append(out, study.WarnNoSpacing())
	} else if w, doubtful := study.WarnMagnification(s / m.Reading.Scale); doubtful {
		out = append(out, w)
	}
	if tag, err := measure.ParseSide(f.Laterality); err == nil && tag == otherSide(h.Side) && tag != measure.SideUnknown {
		out = append(out, study.WarnTag(tag, h.Side))
	}
	return study.Unique(out)
}

// FilmOf returns what a study keeps of an opened film. Its ID is the hash of
// its content, its side the one the file names.
func FilmOf(f *dicomio.Film) study.Film {
	side, err := measure.ParseSide(f.Laterality)
	if err != nil {
		side = measure.SideUnknown
	}
	film := study.Film{
		ID: f.SHA256, Path: f.Path, SHA256: f.SHA256, Patient: f.PatientCode, Date: f.Date, Side: side,
		SpacingMM: f.Geometry.Detector(), View: study.ViewOf(f.View), SourceMM: f.Geometry.SourceImage,
	}
	if f.Field.Stated() {
		x, y := f.Field.Center()
		film.Given.Field = &measure.Point{X: x, Y: y}
	}
	if film.View == study.Lateral {
		film.Given.Axes = study.AxesOf(f.Orientation)
	}
	if film.SpacingMM > 0 {
		_, film.SpacingKind = f.Geometry.Spacing()
	}
	if f.Pixels != nil {
		film.Width, film.Height = f.Pixels.Rect.Dx(), f.Pixels.Rect.Dy()
	}
	return film
}
