package batch

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
)

// Filing says what becomes of films of many patients that are put into a study: nothing is
// kept before Keep.
type Filing struct {
	Files    int
	Passed   []study.Note // what was passed over among the files, by kind
	Faults   []Unfiled    // files that could not be read
	Waiting  []Unfiled    // films that are of no hip, and why
	Copies   int          // files with the picture of another, of the same patient and side
	Shared   []Shared     // patients that have films in common
	There    int          // films that were in their hip
	Undated  int          // films that state no date, of those that go to a hip
	New      int          // films that the study has not
	Links    int          // films that go to a hip, counted for each
	Returned int          // of the films to go to a hip, those that the study had and let wait

	films []*filed
}

// Unfiled is a file of no hip.
type Unfiled struct {
	Path string
	Why  study.Note
}

// Shared is two patients' codes under which the same pictures were found.
type Shared struct {
	A, B string
	N    int
}

// FilingOptions guide PlanFiling.
type FilingOptions struct {
	Site string // whose patients the films are of; empty for all
	Both bool   // films that state no side are of both hips of their patient
	Now  time.Time
}

// filed is one film with what becomes of it.
type filed struct {
	study.Film            // with an ID where the study has it
	kept       bool       // out of view already: the study has it in a hip
	hips       []string   // to go to
	why        study.Note // why to none
	waits      study.Waits
}

// PlanFiling reads what files say of themselves and tells of which hips their films are; of
// a file that the study knows no more is read than its hash. progress may be nil. The error
// is that of ctx or of the study.
func PlanFiling(ctx context.Context, st study.Store, paths []string, hips []study.Hip, opt FilingOptions, progress func(done, total int)) (*Filing, error) {
	p := &Filing{}
	var files []source.File
	files, p.Passed = source.Sort(paths)
	files = source.EachFrame(files)
	p.Files = len(files)
	films := make([]*filed, len(files))
	faults := make([]error, len(files))
	err := parallel(ctx, len(files), progress, func(i int) {
		if files[i].Fault.IsZero() {
			films[i], files[i].Fault, faults[i] = look(ctx, st, files[i].Path, opt.Now)
		}
	})
	if err != nil {
		return nil, err
	}
	pictures := 0 // in folders: charts, photographs
	for i, f := range films {
		switch {
		case faults[i] != nil:
			return nil, faults[i]
		case f == nil && files[i].Fault.Code == "read.no-radiograph" && !slices.Contains(paths, files[i].Path):
			pictures++
		case f == nil:
			p.Faults = append(p.Faults, Unfiled{files[i].Path, files[i].Fault})
		default:
			p.films = append(p.films, f)
		}
	}
	if p.Files -= pictures; pictures > 0 {
		p.Passed = append(p.Passed, study.Note{Code: "passed.picture", Values: study.Values{"N": float64(pictures)}})
	}
	return p, p.sort(ctx, st, study.NewPlaces(hips, opt.Site, opt.Now), opt.Both)
}

// look reads one file. The fault is that of the file, the error that of the study.
func look(ctx context.Context, st study.Store, path string, now time.Time) (*filed, study.Note, error) {
	if sum, err := hashOf(path); err == nil {
		f, ok, err := st.FilmByPixels(ctx, study.Facts{SHA256: sum})
		if err != nil {
			return nil, study.Note{}, err
		}
		if ok {
			kept := &filed{Film: f, waits: f.Waits}
			if f.Reason.Code == yetToCome && f.Date().IsZero() { // nobody has told another
				kept.why = f.Reason
			}
			return kept, study.Note{}, nil
		}
	}
	in, err := source.Open(path, now)
	if err != nil {
		return nil, source.Fault(path, err), nil
	}
	f := &filed{Film: study.Film{Path: source.Whole(path), Facts: source.FactsOf(in)}}
	if why := source.KeptOut(in); !why.IsZero() {
		f.waits, f.why = study.NotAP, study.Note{Code: "waits.view", Values: study.Values{"View": why, "Code": ""}}
	}
	for _, w := range in.Warnings {
		if w.Code == yetToCome && f.Date().IsZero() && f.why.IsZero() {
			f.waits, f.why = study.NotSorted, study.NoteOf(w)
		}
	}
	return f, study.Note{}, nil
}

// yetToCome is the code of a date that a file states and that is yet to come.
const yetToCome = "tag.future"

// hashOf returns the hash of a file, as a study keeps it.
func hashOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close() // only read from
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// sort tells of which hips the films are.
func (p *Filing) sort(ctx context.Context, st study.Store, places study.Places, both bool) error {
	places.Both = both
	known := func(f *filed) int { return min(len(f.ID), 1) } // which is the first of its picture
	slices.SortStableFunc(p.films, func(a, b *filed) int { return cmp.Compare(known(b), known(a)) })
	first := map[string]*filed{}
	shared := map[[2]string]int{}
	p.films = slices.DeleteFunc(p.films, func(f *filed) bool {
		g := first[f.picture()]
		if g == nil {
			first[f.picture()] = f
			return false
		}
		if f.Kind().Fits(g.Kind()) {
			p.Copies++
			return true
		}
		shared[[2]string{min(f.Facts.Patient, g.Facts.Patient), max(f.Facts.Patient, g.Facts.Patient)}]++
		p.Waiting = append(p.Waiting, Unfiled{f.Path, two(g.Film)})
		g.why, g.waits = two(f.Film), study.NotSorted
		return true
	})
	for _, f := range p.films {
		if err := p.place(ctx, st, f, places, shared); err != nil {
			return err
		}
	}
	p.films = slices.DeleteFunc(p.films, func(f *filed) bool { return f.kept })
	for who, n := range shared {
		if who[0] != who[1] {
			p.Shared = append(p.Shared, Shared{who[0], who[1], n})
		}
	}
	slices.SortFunc(p.Shared, func(a, b Shared) int { return cmp.Or(strings.Compare(a.A, b.A), strings.Compare(a.B, b.B)) })
	slices.SortStableFunc(p.Waiting, func(a, b Unfiled) int { return strings.Compare(a.Path, b.Path) })
	return nil
}

// picture names what a file shows.
func (f *filed) picture() string { return cmp.Or(f.Facts.PixelKey, f.Facts.SHA256) }

// two is why a picture waits that is another patient's or side's elsewhere.
func two(other study.Film) study.Note {
	return study.Note{Code: "place.two", Values: study.Values{"Film": other.Path, "Of": other.Kind().Name()}}
}

// place tells of which hips one film is.
func (p *Filing) place(ctx context.Context, st study.Store, f *filed, places study.Places, shared map[[2]string]int) error {
	if f.ID == "" {
		was, ok, err := st.FilmByPixels(ctx, f.Facts)
		switch {
		case err != nil:
			return err
		case ok && !was.Kind().Fits(f.Kind()):
			a, b := was.Facts.Patient, f.Facts.Patient
			shared[[2]string{min(a, b), max(a, b)}]++
			p.Waiting = append(p.Waiting, Unfiled{f.Path, two(was)})
			f.kept = true
			return nil
		case ok:
			f.Film = was
		default:
			p.New++
		}
	}
	if f.ID != "" {
		of, err := st.HipsOf(ctx, f.ID)
		if err != nil {
			return err
		}
		if len(of) > 0 {
			p.There++
			f.kept = true
			return nil
		}
	}
	switch {
	case f.waits == study.NotAP && f.Given.View == "":
		if f.ID != "" {
			f.why = f.Reason
		}
	case f.why.IsZero():
		var hips []study.Hip
		if hips, f.why = places.Of(f.Film); f.why.IsZero() {
			p.take(f, hips)
			return nil
		}
		f.waits = study.NotSorted
	}
	p.Waiting = append(p.Waiting, Unfiled{f.Path, f.why})
	return nil
}

// take puts a film to hips.
func (p *Filing) take(f *filed, hips []study.Hip) {
	f.waits = study.Sorted
	for _, h := range hips {
		f.hips = append(f.hips, h.ID)
	}
	p.Links += len(hips)
	if f.ID != "" {
		p.Returned++
	}
	if f.Date().IsZero() {
		p.Undated++
	}
}

// filedAtOnce is how many films are kept in one transaction.
const filedAtOnce = 64

// Keep keeps the films in the study, some at a time, and puts them to their hips; a Keep
// after one that was killed does what is left. Films that wait are kept with why.
func (p *Filing) Keep(ctx context.Context, st study.Store, by study.Stamp, progress func(done, total int)) error {
	done := 0
	for some := range slices.Chunk(p.films, filedAtOnce) {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := keepSome(ctx, st, some, by); err != nil {
			return err
		}
		if done += len(some); progress != nil {
			progress(done, len(p.films))
		}
	}
	return nil
}

func keepSome(ctx context.Context, st study.Store, some []*filed, by study.Stamp) error {
	var fresh []study.Film
	var at []*filed
	for _, f := range some {
		same := f.same()
		f.Waits, f.Reason = f.waits, f.why
		switch {
		case f.ID == "":
			fresh, at = append(fresh, f.Film), append(at, f)
		case !same:
			var err error
			if f.Film, err = st.SaveFilm(ctx, f.Film, by); err != nil {
				return err
			}
		}
	}
	if len(fresh) > 0 {
		saved, err := st.AddFilms(ctx, fresh, by)
		if err != nil {
			return err
		}
		for i, f := range at {
			f.Film = saved[i]
		}
	}
	for _, f := range some {
		for _, hip := range f.hips {
			if err := st.SaveLink(ctx, study.Link{HipID: hip, FilmID: f.ID}, by); err != nil {
				return err
			}
		}
	}
	return nil
}

// Writes reports whether Keep changes anything.
func (p *Filing) Writes() bool {
	return p.New+p.Links > 0 || slices.ContainsFunc(p.films, func(f *filed) bool { return !f.same() })
}

// same reports whether the study says already why a film of it waits.
func (f *filed) same() bool {
	return f.Waits == f.waits && (f.waits == study.Sorted || f.Reason.String() == f.why.String())
}
