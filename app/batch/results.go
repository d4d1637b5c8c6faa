package batch

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
)

// ResultOptions say how results are written.
type ResultOptions struct {
	Reader  string // whose readings count; study.Anyone for the latest of each film
	Out     string // an existing folder
	Version string // of the program
	Now     time.Time
	// Save writes a file that is not there yet, whole or not at all.
	Save func(path string, write func(io.Writer) error) error
}

// Results writes what was measured on the films of a hip as objects for an archive: of
// each film with a reading that counts a report, a picture and a presentation state. A
// film's identity comes from its file; where that is not to be had, nothing is written of
// it, nor of any film where they contradict the hip or each other: one of them may be
// somebody else's. What was written of the same reading before is left alone; the report of one that
// was changed since names the report before it. Of one that was taken back since, with none in its
// place, a selection is written by which the archive rejects it. The only error is that of ctx.
func Results(ctx context.Context, r study.Record, opt ResultOptions, progress func(done, total int)) ([]study.Written, error) {
	w := resultWriter{record: r, opt: opt}
	w.trend, w.untold = r.Trend(opt.Reader)
	var out []study.Written
	entries := r.Entries(opt.Reader)
	for i, e := range entries {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		one := w.film(e, i+1)
		w.reject(e, i+1, &one)
		out = append(out, one)
		if progress != nil {
			progress(i+1, len(entries))
		}
	}
	return out, nil
}

// MakeResultsOut makes a folder for results where there is none. It refuses one in which
// they would lie among the hip's films and be taken for films.
func MakeResultsOut(out string, r study.Record) error {
	var paths []string
	for _, f := range r.Films {
		if f.Path != "" {
			paths = append(paths, f.Path)
		}
	}
	if err := CheckDeidentifyOut(out, paths); err != nil {
		return err
	}
	return os.MkdirAll(out, 0o755)
}

// resultWriter writes the results of one hip.
type resultWriter struct {
	record study.Record
	trend  study.Trend
	untold error // why there is no trend
	opt    ResultOptions
}

// film writes what there is of a film, the number-th of its hip.
func (w resultWriter) film(e study.FilmEntry, number int) study.Written {
	out := study.Written{Film: e.Film}
	note := func(n study.Note) { out.Notes = append(out.Notes, n) }
	if why := w.passed(e); !why.IsZero() {
		note(why)
		return out
	}
	o, err := openOriginal(e.Film, w.opt.Now)
	m, read := w.alike(e)
	switch _, mixed := errors.AsType[*study.FilmError](w.untold); {
	case err != nil:
		out.Fault = source.Fault(e.Path, err)
		return out
	case mixed:
		out.Fault = study.Note{Code: "result.mixed", Values: study.Values{"Why": study.NoteOf(w.untold)}}
		return out
	case !read:
		out.Fault = study.NoteOf(study.ErrNoOutlines)
		return out
	}
	if o.header.Text(0x00120062) == "YES" {
		note(study.Note{Code: "result.deidentified"})
	}
	if w.untold != nil {
		note(study.Note{Code: "result.no-trend", Values: study.Values{"Why": study.NoteOf(w.untold)}})
	}
	r := w.report(e, m, o, number)
	name, there, err := w.place(e.Film, &r)
	switch {
	case err == nil && there:
		out.There = true
		note(study.Note{Code: "result.there", Values: study.Values{"File": name + reportEnd}})
	case err == nil:
		out.Files, err = w.write(name, o, m, r)
	}
	out.Fault = study.NoteOf(err)
	return out
}

// passed says why nothing is to be written of a film, though nothing is wrong.
func (w resultWriter) passed(e study.FilmEntry) study.Note {
	switch {
	case e.State != study.FilmRead:
		s, _ := w.record.StandingOf(e)
		return study.Note{Code: "result.not-accepted", Values: study.Values{"Standing": study.Words(study.FilmStandings(), string(s))}}
	case e.View() == study.Lateral:
		return study.Note{Code: "result.lateral"}
	}
	return study.Note{}
}

// original is a film as its file holds it, and as it is measured.
type original struct {
	film, ready *dicomio.Film
	header      dicomio.Item
	is          result.Film
}

// openOriginal opens the file of a film. It has to be there, with the picture that was
// read, and to say which object it is.
func openOriginal(f study.Film, now time.Time) (o original, err error) {
	if Lacks(f) {
		return o, study.NewError("result.no-file", nil)
	}
	if o.film, err = source.Frame(f.Path, 1, now); err != nil {
		return o, err
	}
	if o.ready, err = source.Ready(o.film); err != nil {
		return o, err
	}
	if now := source.FactsOf(o.ready); !now.SamePicture(f.Facts) {
		return o, study.NewError("result.other-picture", nil)
	}
	if o.header, err = dicomio.ReadItem(f.Path); err != nil {
		return o, err
	}
	o.is, err = result.FilmOf(o.header, o.film.Frame)
	if errors.Is(err, result.ErrNoIdentity) {
		err = study.WrapError(err, "result.no-identity", nil)
	}
	return o, err
}

// alike returns the reading of a film as all films of the hip are read; ok is false where
// it has no outlines.
func (w resultWriter) alike(e study.FilmEntry) (m study.Measurement, ok bool) {
	m = e.Reading.Measurement
	for _, t := range w.trend.Films {
		if w.untold == nil && t.Film.ID == e.ID && t.Status == study.Measured {
			m = t
		}
	}
	return m, m.Status == study.Measured && m.Head.R > 0 && m.Cup.R > 0
}

// The ends of the names of what is written of a film.
const (
	reportEnd    = "-report.dcm"
	pictureEnd   = "-picture.dcm"
	stateEnd     = "-outlines.dcm"
	rejectionEnd = "-withdrawn.dcm"
)

// place returns with what the names of a film's results begin: hip and day. The latest report of the
// same film, hip and reader becomes the one that r corrects; where it says what r says,
// there is nothing to write, and name is its own.
func (w resultWriter) place(f study.Film, r *result.Report) (name string, there bool, err error) {
	found, free, err := w.reportsOf(f)
	latest := ""
	for _, before := range found {
		if before.Film.UID != r.Film.UID || before.Hip != r.Hip || before.Reader != r.Reader {
			continue
		}
		same := *r
		same.Version, same.Earlier = before.Version, before.Earlier
		_, gone := os.Lstat(before.name + rejectionEnd)
		latest, there = before.name, same.UID() == before.is.UID && errors.Is(gone, os.ErrNotExist)
		r.Earlier = []result.Instance{before.is}
	}
	if there {
		return filepath.Base(latest), true, nil
	}
	return filepath.Base(free), false, err
}

// filedReport is a report in the folder.
type filedReport struct {
	result.Report
	is   result.Instance
	name string // of its file, without the end
}

// reportsOf returns the reports in the folder of the films of a day, the earliest first, and
// what the names of the next one begin with. The error is of a file that is no report.
func (w resultWriter) reportsOf(f study.Film) (found []filedReport, next string, err error) {
	of := f.ID
	if day := f.Date(); !day.IsZero() {
		of = day.Format("20060102")
	}
	stem := filepath.Join(w.opt.Out, plainName(w.record.Hip.ID)+"-"+plainName(of))
	for n := 1; ; n++ {
		name := stem
		if n > 1 {
			name += fmt.Sprint("-", n)
		}
		if free(name) {
			return found, name, nil
		}
		r, is, err := reportAt(name + reportEnd)
		switch {
		case errors.Is(err, os.ErrNotExist): // a picture of that name, without a report
		case err != nil:
			return nil, "", study.WrapError(err, "result.no-report", study.Values{"File": filepath.Base(name) + reportEnd})
		default:
			found = append(found, filedReport{r, is, name})
		}
	}
}

// reportAt reads the report in a file, and which instance it is.
func reportAt(path string) (r result.Report, is result.Instance, err error) {
	item, err := dicomio.ReadItem(path)
	if err != nil {
		return r, is, err
	}
	r, err = result.ReadReport(item)
	return r, result.InstanceOf(item), err
}

// free reports whether none of the files that begin with name is there.
func free(name string) bool {
	for _, end := range []string{reportEnd, pictureEnd, stateEnd} {
		if _, err := os.Lstat(name + end); !errors.Is(err, os.ErrNotExist) {
			return false
		}
	}
	return true
}

// plainName is a code as part of a file's name.
func plainName(code string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' {
			return r
		}
		return '_'
	}, code)
}

// write writes the three objects of a film and returns the names of those that are there.
func (w resultWriter) write(name string, o original, m study.Measurement, r result.Report) (files []string, err error) {
	uid := r.UID()
	for _, one := range []struct {
		end  string
		item func() (dicomio.Item, error)
	}{
		{pictureEnd, result.Capture{
			Film: o.is, Hip: r.Hip, Side: r.Side, Picture: outlined(o.ready, m), About: study.NoteWords(study.Note{Code: "result.picture"}),
			Of: uid, BurnsIn: o.film.BurnedIn, Lossy: o.film.Lossy, Source: r.Source,
		}.Item},
		{stateEnd, w.state(o, r).Item},
		{reportEnd, r.Item}, // last: what has a report is whole
	} {
		item, err := one.item()
		if err == nil {
			err = w.opt.Save(filepath.Join(w.opt.Out, name+one.end), item.Write)
		}
		if err != nil {
			return files, err
		}
		files = append(files, name+one.end)
	}
	return files, nil
}

// state shows the outlines of a report over its film.
func (w resultWriter) state(o original, r result.Report) result.State {
	s := result.State{
		Film: o.is, Hip: r.Hip, Side: r.Side, About: study.NoteWords(study.Note{Code: "result.picture"}), Of: r.UID(),
		Rows: o.film.Rows, Columns: o.film.Columns, Aspect: o.film.Geometry.Aspect(), Place: o.film.Place(), Greys: result.GreysOf(o.film), Source: r.Source,
	}
	for _, g := range r.Groups {
		if g.Outline != nil {
			s.Marks = append(s.Marks, result.Mark{Outline: *g.Outline, Text: study.NoteWords(study.Note{Code: markKeys[g.Name]})})
		}
	}
	return s
}

// markKeys are the texts beside outlines, by the names of their groups.
var markKeys = map[string]string{"head": "result.head", "cup": "result.cup", "rim": "result.rim"}
