package reader

import (
	"image"
	"io"
	"strconv"
	"time"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// Report is what there is to tell of a hip.
type Report struct {
	Record  study.Record
	Reader  string // whose readings count; study.Anyone for the latest of each film
	Changes []study.HipChange
	// FilmChanges are what was changed of films, by their IDs.
	FilmChanges map[string][]study.FilmChange
	Points      map[string]study.Points // of Counting
	Unchecked   bool                    // what the program proposes counts, too

	pictures map[string]Picture // by the IDs of films; one that is missing is said to be
	trend    study.Trend
	untold   error // why there is no trend
	guessed  int   // films in the trend that nobody has accepted
}

// Picture is a part of a film as it is shown: its top-left corner on the film, px, and its
// own pixels for one of the film.
type Picture struct {
	Image image.Image
	At    study.Pixel
	Zoom  float64
}

// PictureSide is how many pixels the picture of a film has at most: 200 an inch.
const PictureSide = 440

// Show takes the picture of a film.
func (r *Report) Show(filmID string, p Picture) {
	if r.pictures == nil {
		r.pictures = map[string]Picture{}
	}
	r.pictures[filmID] = p
}

// Counting returns the IDs of the readings that count, of a mean those of its readings.
func (r *Report) Counting() (ids []string) {
	for _, e := range r.Record.Entries(r.Reader) {
		if e.State == study.FilmRead {
			ids = append(ids, e.Reading.IDs()...)
		}
	}
	return ids
}

// Shown returns the measurements whose films are shown, in date order, as the trend reads
// them; where there is no trend, as they were accepted.
func (r *Report) Shown() (out []study.Measurement) {
	if r.untold == nil {
		for _, m := range r.trend.Films {
			if m.Status == study.Measured {
				out = append(out, m)
			}
		}
		return out
	}
	for _, e := range r.Record.Entries(r.Reader) {
		if e.State == study.FilmRead && e.View() != study.Lateral {
			out = append(out, e.Reading.Measurement)
		}
	}
	return out
}

// Print says how a report is printed.
type Print struct {
	Size    paper.Size
	Clinic  string // the clinic's own heading
	Date    time.Time
	Program string // name, version and commit of the program
}

// Tell computes the trend. It fails with study.ErrNoneAccepted where there is nothing to
// print; readings that make no series are printed with the reason.
func (r *Report) Tell() (err error) {
	if _, err := r.Record.Accepted(r.Reader); err != nil && !r.Unchecked && !r.read() {
		return err
	}
	if r.Unchecked {
		r.trend, r.guessed, r.untold = r.Record.Unchecked(r.Reader)
		if len(r.trend.Penetration) == 0 && !r.read() {
			return study.ErrNoMeasuredFilm
		}
		return nil
	}
	r.trend, r.untold = r.Record.Accepted(r.Reader)
	return nil
}

// read reports whether a reading counts.
func (r *Report) read() bool {
	for _, e := range r.Record.Entries(r.Reader) {
		if e.State == study.FilmRead {
			return true
		}
	}
	return false
}

// page is a report that is being written.
type page struct {
	*paper.Sheet
	v       paper.Voice
	r       *Report
	print   Print
	entries []study.FilmEntry
	films   map[string]int // numbers of the films, by their IDs, from 1 in date order
}

// PDF writes the report; Tell comes before it.
func (r *Report) PDF(w io.Writer, speech texts.Speech, print Print) error {
	v := paper.Voice{Speech: speech}
	title := v.Say("reader.title", study.Values{"Hip": r.Record.Hip.LabelIn(v.Say)})
	p := page{v: v, r: r, print: print, entries: r.Record.Entries(r.Reader), films: map[string]int{}}
	p.Sheet = paper.New(paper.Options{Size: print.Size, Title: title, Language: speech.Code(), Date: print.Date, Points: 9.5, Margin: 16,
		Foot: title + " · " + v.Say("patient.printed", study.Values{"Date": print.Date.Format(time.DateOnly)}),
		Page: func(page, pages string) string {
			return v.Say("paper.page", study.Values{"Page": page, "Pages": pages})
		}})
	for i, e := range p.entries {
		p.films[e.ID] = i + 1
	}
	p.head(title)
	p.hip()
	p.list("reader.events", p.events())
	p.result()
	p.readings()
	if err := p.panels(); err != nil {
		return err
	}
	p.history()
	p.end()
	return p.Write(w)
}

func (p *page) say(key string, v study.Values) string { return p.v.Say(key, v) }

// film names a film by its number.
func (p *page) film(id string) string {
	n, ok := p.films[id]
	if !ok {
		return id
	}
	return strconv.Itoa(n)
}

// filmWords names a film of the hip in a sentence.
func (p *page) filmWords(id string) string {
	for _, e := range p.entries {
		if e.ID == id {
			return p.say("reader.film", study.Values{"N": p.film(id), "Date": day(e.Date())})
		}
	}
	return id
}

func day(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.Format(time.DateOnly)
}

// moment writes a time as it is kept, in UTC, so that a report is the same everywhere.
func moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") }

// head writes the clinic's heading, the title, and what is to be read first.
func (p *page) head(title string) {
	if p.print.Clinic != "" {
		p.TextIn(paper.Style{Bold: true, Points: 11}, p.print.Clinic)
	}
	p.Heading(1, title)
	if p.r.guessed > 0 {
		p.boxed(p.say("reader.unchecked", study.Values{"N": float64(p.r.guessed)}))
	}
	if p.r.untold != nil {
		p.boxed(p.say("reader.untold", study.Values{"Why": study.NoteIn(p.v.Say, study.NoteOf(p.r.untold))}))
	}
}

func (p *page) boxed(text string) {
	st := paper.Style{Bold: true}
	h := p.Height(st, p.Width()-6, text)
	p.Box(paper.Pen{Ink: paper.Black, MM: 0.4}, p.Left(), p.Y(), p.Width(), h+3)
	p.Block(p.Left()+3, p.Y()+1.3, p.Width()-6, st, text)
	p.MoveTo(p.Y() + h + 5)
}
