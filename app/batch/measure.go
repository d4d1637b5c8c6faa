package batch

import (
	"cmp"
	"context"
	"errors"
	"image"
	"math"
	"slices"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// LeastSource and MostSource bound a distance from source to detector, mm, from whomever.
const LeastSource, MostSource = dicomio.LeastSource, dicomio.MostSource

// MeasureOptions guide Measure. HeadMM is required.
type MeasureOptions struct {
	HeadMM float64      // nominal head diameter, mm
	Side   measure.Side // the hip wanted; SideUnknown for every replaced hip

	Frame    int     // of files that have several, counted from 1; 0 for each as a film of its own
	BeamOff  bool    // leave the readings uncorrected for the cone beam
	SourceMM float64 // source to detector of all films, mm; 0 for what each file says
	Given    []Given // what is stated about single films

	Unscanned bool      // leave out the resolution of scanned films
	Now       time.Time // dates of files after it are left out; zero for none
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
	files := source.Only(paths, opt.Frame)
	if err := checkGiven(opt.Given, files); err != nil {
		return nil, err
	}
	results := make([][]study.Measurement, len(files))
	err := parallel(ctx, len(files), progress, func(i int) {
		if !files[i].Fault.IsZero() {
			results[i] = []study.Measurement{failed(files[i].Path, files[i].Fault)}
			return
		}
		results[i] = measureFile(ctx, files[i].Path, opt)
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

func failed(path string, why study.Note) study.Measurement {
	return study.Measurement{
		Film:   study.Film{ID: path, Path: path},
		Status: study.Failed, Reason: why,
	}
}

// measureFile measures one film and lets go of its pixels.
func measureFile(ctx context.Context, path string, opt MeasureOptions) []study.Measurement {
	f, err := source.Frame(path, 1, opt.Now)
	if err != nil {
		return []study.Measurement{failed(path, source.Fault(path, err))}
	}
	return MeasureFilm(ctx, f, opt)
}

// MeasureFilm measures an opened film as Measure does.
func MeasureFilm(ctx context.Context, f *dicomio.Film, opt MeasureOptions) []study.Measurement {
	f, err := source.Ready(f)
	if err != nil {
		return []study.Measurement{failed(f.Path, source.Fault(f.Path, err))}
	}
	m := study.Measurement{Film: source.FilmOf(f), HeadMM: opt.HeadMM}
	err = opt.state(&m)
	refused := func(status study.Status, why study.Note) []study.Measurement {
		m.Status, m.Reason = status, why
		return []study.Measurement{m}
	}
	if err != nil {
		return refused(study.Failed, study.NoteOf(err))
	}
	if why := source.KeptOut(f); !why.IsZero() && m.Film.Given.View == "" {
		return refused(study.Refused, study.Note{Code: study.KeptOut, Values: study.Values{"Why": why}})
	}
	if opt.Unscanned {
		f = f.SetScanAside()
	}
	want := find.Options{HeadMM: opt.HeadMM, Spacing: f.Geometry.Detector(), Side: opt.Side}
	lateral := m.Film.View() == study.Lateral
	if lateral {
		want.Side = measure.SideUnknown // the place on the film does not tell it
	}
	hips, f, err := LookFor(ctx, f, f.Pixels, want, find.Hips)
	m.Film.Facts.SpacingMM, m.Film.Facts.SpacingKind = source.SpacingOf(f)
	var no *measure.Refusal
	switch {
	case errors.As(err, &no):
		return refused(study.Refused, no.Reason)
	case err != nil:
		return refused(study.Failed, study.NoteOf(err))
	}
	if lateral {
		hips = OnLateral(hips, f.Pixels.Rect, cmp.Or(opt.Side, m.Film.Side()))
	}
	if opt.Side == measure.SideUnknown && !lateral {
		hips = byTag(hips, m.Film.Side())
	}
	var out []study.Measurement
	for _, h := range hips {
		out = append(out, measureHip(f, m, h, !opt.BeamOff))
	}
	return out
}

// OnLateral returns the hip nearest to the middle of a lateral film as that of
// side, without the doubts about sides, which are those of AP films.
func OnLateral(hips []measure.Hip, film image.Rectangle, side measure.Side) []measure.Hip {
	if len(hips) == 0 {
		return nil
	}
	off := func(h measure.Hip) float64 {
		return math.Hypot(h.Cup.X-float64(film.Dx())/2, h.Cup.Y-float64(film.Dy())/2)
	}
	h := slices.MinFunc(hips, func(a, b measure.Hip) int { return cmp.Compare(off(a), off(b)) })
	h.Side = side
	h.Warnings = slices.DeleteFunc(slices.Clone(h.Warnings), func(w measure.Warning) bool {
		return w.Code == measure.SideUnproven || w.Code == measure.SideContradicts || w.Code == measure.FilmTurned
	})
	return []measure.Hip{h}
}

// byTag lets the file's laterality tell the side of a single hip that the film
// itself does not tell. What the film tells is kept; Warnings says where the
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
		refused.Status, refused.Reason = study.Refused, study.NoteOf(err)
		return refused
	}
	m.Status = study.Measured
	m.Warnings = Warnings(f, h, m)
	if why := m.Turned(); !why.IsZero() && m.Film.Given.View == "" {
		refused.Status, refused.Reason = study.Refused, turnedOut(f, why)
		return refused
	}
	return m
}

// turnedOut says of a film that seems to be turned that it is left out, and whether its file had it turned.
func turnedOut(f *dicomio.Film, why study.Note) study.Note {
	if by := f.Turned; by != "" {
		return study.Note{Code: "turned.by-tag", Values: study.Values{"Why": why, "Said": by}}
	}
	return study.Note{Code: "turned.kept-out", Values: study.Values{"Why": why}}
}

// Warnings says what a reader should weigh about an unattended reading.
func Warnings(f *dicomio.Film, h measure.Hip, m study.Measurement) []study.Warning {
	var out []study.Warning
	for _, n := range source.Notes(f.Warnings) {
		out = append(out, study.Warning{Code: study.WarnFile, Values: study.Values{"Why": n}})
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
	if times, by := f.Factor(); f.Geometry.Detector() > 0 {
		if w, doubtful := study.WarnFactor(f.Geometry.Detector()/m.Reading.Scale, times, by); doubtful {
			out = append(out, w)
		}
	}
	if tag, err := measure.ParseSide(f.Laterality); err == nil && tag == otherSide(h.Side) && tag != measure.SideUnknown {
		out = append(out, study.WarnTag(tag, h.Side))
	}
	if way, why := f.Projection(); way == "" && why == nil && m.Film.Given.View == "" {
		out = append(out, study.WarnUnstated(looksAP(h)))
	}
	return study.Unique(out)
}

// looksAP reports whether the place and the shape of a hip that was found are as on an AP
// film: they tell its side, and agree.
func looksAP(h measure.Hip) bool {
	return h.Head.R > 0 && !slices.ContainsFunc(h.Warnings, func(w measure.Warning) bool {
		return w.Code == measure.SideUnproven || w.Code == measure.SideContradicts
	})
}

// otherSide returns the side that side is not, or SideUnknown.
func otherSide(side measure.Side) measure.Side {
	switch side {
	case measure.Right:
		return measure.Left
	case measure.Left:
		return measure.Right
	}
	return measure.SideUnknown
}
