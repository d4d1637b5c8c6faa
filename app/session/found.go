package session

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// Films are put together by what they say of whose they are.
type (
	Kind = study.Kind
	Pile = study.Pile
)

// Found is what was found in the files that were opened last.
type Found struct {
	Time     int // counts the times that files were opened
	Files    int
	Rest     int          // not opened yet, where that was stopped
	Sorts    []Sort       // of the films, those of the hip that is read first
	Pictures []string     // names of files that are no radiographs
	Doubles  []string     // names of files with the picture of another
	Passed   []study.Note // what was no film, by kind
	Faults   []Fault

	films, failed []study.Film
}

// Sort is films of one patient and side, as their files say, and what became of them.
type Sort struct {
	Kind
	study.Span  // of their dates
	Films       int
	Undated     int
	Views       []study.View // that their files name
	Waits       study.Waits  // Sorted for those of the hip that is read
	Reason      study.Note   // why they wait, where it is not their patient or side
	Hip         string       // label of the hip of the study that they seem to be of, or ""
	Copies      bool         // of films that the study had already, which it keeps as they are
	Contradicts study.Note   // what such a file says otherwise than the study's; zero where it agrees
}

// Fault is a file that could not be read.
type Fault struct {
	Name, Path string
	Why        study.Note
}

// Unclear reports whether the reader has to see what was found: where more was opened than
// films of the hip that is read, or than those of one other patient whom they name.
func (f Found) Unclear() bool {
	if len(f.Faults) > 0 {
		return true
	}
	if len(f.Sorts) == 1 {
		s := f.Sorts[0]
		return s.Copies || s.Waits == study.NotAP || s.Waits != study.Sorted && s.Patient == ""
	}
	return slices.ContainsFunc(f.Sorts, func(s Sort) bool { return s.Copies || s.Waits != study.Sorted })
}

// Found returns what was found in the files opened last, once all are read.
func (in *Intake) Found() Found { return in.found }

// sorted notes a film whose file was just read, and reports whether it waits: since it is
// of another hip, or since its file names a view or a part of the body
// that is not read.
func (in *Intake) sorted(f *Film, file *dicomio.Film) bool {
	if f.saved {
		return false
	}
	reason := source.KeptOut(file)
	if !reason.IsZero() {
		reason = study.Note{Code: "waits.view", Values: study.Values{"View": reason, "Code": ""}}
	}
	seen := f.Film
	switch {
	case f.taken || f.Given.View != "": // a reader has said what it is
	case !reason.IsZero():
		seen.Waits, seen.Reason = study.NotAP, reason
		in.wait(f, study.NotAP, reason)
	case in.another(f):
		seen.Waits = study.NotSorted
		in.setAside(f)
	}
	in.seeing.films = append(in.seeing.films, seen)
	return seen.Waits != study.Sorted
}

// failed notes a file that could not be read.
func (in *Intake) failed(f *Film) {
	in.seeing.Faults = append(in.seeing.Faults, Fault{f.Name(), f.Path, f.Reason})
	in.seeing.failed = append(in.seeing.failed, study.Film{Path: f.Path, Waits: study.Unreadable, Reason: f.Reason})
}

// Retry opens the files again that could not be read when files were opened last.
func (in *Intake) Retry() {
	var paths []string
	for _, f := range in.found.Faults {
		paths = append(paths, f.Path)
	}
	in.s.strip.Add(paths)
}

// sum tells what was found, once all files are read; j is what became of those with the
// picture of another.
func (in *Intake) sum(j joined) {
	f := in.seeing
	f.Doubles, f.Pictures, f.Rest = j.doubles, j.pictures, len(in.s.work.unopened())
	if len(f.films) == 0 && len(f.Faults) == 0 && len(f.Doubles) == 0 && len(j.copies) == 0 && len(j.pictures) == 0 {
		return
	}
	in.seeing = Found{}
	f.Files = len(f.films) + len(f.Faults) + len(f.Doubles) + len(j.copies) + j.found
	f.Sorts = in.sorts(f.films, j.copies)
	in.keepFaults(f)
	f.films, f.failed = nil, nil
	f.Time = in.found.Time + 1
	in.found = f
	in.s.changed(FoundChanged)
}

// sorts puts together films that were opened by whose they are and what became of them.
func (in *Intake) sorts(films []study.Film, copies []copied) (list []Sort) {
	here := map[string]bool{}
	for _, g := range in.s.strip.films {
		here[g.Path] = true
	}
	type key struct {
		Kind
		waits  study.Waits
		reason string
		hip    string // that has copies of them
		copies bool
	}
	at, hipOf := map[key]int{}, study.Owners(in.s.book.hips)
	add := func(k key, film study.Film, s Sort) {
		i, ok := at[k]
		if !ok {
			i = len(list)
			at[k] = i
			s.Kind, s.Waits, s.Copies = k.Kind, k.waits, k.copies
			list = append(list, s)
		}
		list[i].count(film)
	}
	for _, film := range films {
		k := key{Kind: film.Kind(), waits: film.Waits}
		var why study.Note
		switch {
		case here[film.Path]:
			k.waits = study.Sorted
			if in.s.hipKnown {
				k.Kind = in.s.hip.Kind()
			}
		case film.Waits == study.NotAP:
			why = film.Reason
			k.reason = why.String()
		default:
			k.waits = study.NotSorted
		}
		add(k, film, Sort{Reason: why, Hip: in.s.book.hipLabel(hipOf(k.Kind))})
	}
	for _, c := range copies {
		k := key{Kind: c.Film.Kind(), waits: c.Waits, hip: c.hip, copies: true}
		film, why := c.Film, study.Contradiction(c.file, c.Film)
		if !why.IsZero() { // a line of its own, by what the file says
			film, k.Kind, k.reason = c.file, c.file.Kind(), why.String()
		}
		add(k, film, Sort{Reason: c.Reason, Contradicts: why, Hip: in.s.book.hipLabel(c.hip)})
	}
	rank := map[study.Waits]int{study.Sorted: 0, study.NotSorted: 1, study.NotAP: 2}
	slices.SortStableFunc(list, func(a, b Sort) int {
		return cmp.Or(rank[a.Waits]-rank[b.Waits], strings.Compare(a.Patient, b.Patient), cmp.Compare(a.Side, b.Side))
	})
	return list
}

func (s *Sort) count(f study.Film) {
	s.Films++
	if s.Add(f.Date()); f.Date().IsZero() {
		s.Undated++
	}
	if v := f.View(); v != "" && !slices.Contains(s.Views, v) {
		s.Views = append(s.Views, v)
		slices.Sort(s.Views)
	}
}

// keepFaults keeps in the study which files could not be read, and forgets that of those
// that now can.
func (in *Intake) keepFaults(f Found) {
	st, by := in.s.book.store, in.s.stamp()
	if st == nil {
		return
	}
	in.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		err := keepFaults(context.WithoutCancel(ctx), st, f.films, f.failed, by)
		return func() {
			if err != nil {
				in.s.Say("%s", say("found.not-noted", "Why", study.Told(err)))
			}
		}
	}})
}

func keepFaults(ctx context.Context, st study.Store, read, failed []study.Film, by study.Stamp) error {
	list, err := st.Unsorted(ctx)
	if err != nil {
		return err
	}
	known, can := map[string]bool{}, map[string]bool{}
	for _, f := range read {
		can[f.Path] = true
	}
	for _, f := range list {
		if f.Waits != study.Unreadable {
			continue
		}
		known[f.Path] = true
		if can[f.Path] {
			if err := st.DropFilm(ctx, f.ID, by); err != nil {
				return err
			}
		}
	}
	failed = slices.DeleteFunc(slices.Clone(failed), func(f study.Film) bool { return known[f.Path] })
	if len(failed) == 0 {
		return nil
	}
	_, err = st.AddFilms(ctx, failed, by)
	return err
}
