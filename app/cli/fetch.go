package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/archive"
	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var fetchCommand = command{
	studies: true,
	name:    "fetch",
	usage:   "--archive NAME --patient CODE [--series UID]... [--out DIR | --study FILE.linerwatch [--hip HIP]] [--format table|json|csv]",
	about:   "command.fetch",
	run:     runFetch,
}

// fetchFlags are those of fetch.
type fetchFlags struct {
	archive, patient, out, study, hip string
	series                            []string
}

func runFetch(ctx context.Context, c *call) error {
	var f fetchFlags
	c.flags.StringVar(&f.archive, "archive", "", "")
	c.flags.StringVar(&f.patient, "patient", "", "")
	c.flags.StringVar(&f.out, "out", "", "")
	c.flags.StringVar(&f.study, "study", "", "")
	c.flags.StringVar(&f.hip, "hip", "", "")
	c.flags.Func("series", "", func(s string) error { f.series = append(f.series, s); return nil })
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	list, err := archive.Load(c.Archives)
	if err != nil {
		return fmt.Errorf("fetch: %w", err)
	}
	if f.archive == "" && len(list) == 1 {
		f.archive = list[0].Name
	}
	if err := c.checkFetch(f); err != nil {
		return err
	}
	a, err := c.asked(ctx, list, f.archive)
	if err != nil {
		return err
	}
	defer a.Close()
	series, err := c.wantedSeries(ctx, a, f)
	if err != nil {
		return err
	}
	if f.out == "" && f.study == "" {
		return report.Series(c.Stdout, c.form, series)
	}
	return c.fetch(ctx, a, f, series)
}

// checkFetch refuses what would be wrong before anything is asked.
func (c *call) checkFetch(f fetchFlags) error {
	switch {
	case len(c.films) > 0:
		return c.fail("try: linerwatch help fetch", "nothing to do with %q", c.films[0])
	case f.archive == "":
		return c.fail("name one: --archive NAME; linerwatch archive lists them", "no archive")
	case f.patient == "":
		return c.fail("give the code: --patient CODE", "no patient")
	case f.out != "" && f.study != "":
		return c.fail("leave one out", "--out and --study are two places")
	case f.hip != "" && f.study == "":
		return c.fail("name its study: --study FILE"+study.FileExt, "--hip is of a study")
	case f.study != "" && !study.IsFile(f.study):
		return c.fail("its name ends in "+study.FileExt, "%s is not named as a study file", f.study)
	}
	if info, err := os.Stat(f.out); err == nil && !info.IsDir() {
		return c.fail("name a folder", "%s is a file, not a folder", f.out)
	}
	return nil
}

// wantedSeries are the series that were named, else those that may be films; of the others
// it says how many there are.
func (c *call) wantedSeries(ctx context.Context, a *archive.Archive, f fetchFlags) ([]study.Series, error) {
	all, err := a.Series(ctx, f.patient)
	if err != nil {
		return nil, fmt.Errorf("fetch: %w", err)
	}
	var out []study.Series
	others := map[string]int{}
	for _, s := range all {
		if slices.Contains(f.series, s.UID) || len(f.series) == 0 && s.MayBeFilms {
			out = append(out, s)
		} else if !s.MayBeFilms {
			others[s.Modality]++
		}
	}
	for _, uid := range f.series {
		if !slices.ContainsFunc(out, func(s study.Series) bool { return s.UID == uid }) {
			return nil, fmt.Errorf("fetch: the patient has no series %s there", uid)
		}
	}
	if len(others) > 0 && len(f.series) == 0 {
		if err := c.say("left out, not films: %s", counted(others)); err != nil {
			return nil, err
		}
	}
	if len(out) == 0 {
		return nil, errors.New("fetch: the archive has no films of this patient")
	}
	return out, nil
}

// counted writes "2 CT, 1 SR".
func counted(n map[string]int) string {
	var parts []string
	for modality, k := range n {
		parts = append(parts, fmt.Sprintf("%d %s", k, modality))
	}
	slices.Sort(parts)
	return strings.Join(parts, ", ")
}

// fetch fetches, and keeps in the study.
func (c *call) fetch(ctx context.Context, a *archive.Archive, f fetchFlags, series []study.Series) (err error) {
	dir := f.out
	var st study.Store
	var hip study.Hip
	if f.study != "" {
		dir = archive.FilmFolder(f.study)
		if st, err = c.studyFor(ctx, f); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, st.Close()) }()
		if f.hip != "" {
			if hip, err = batch.HipNamed(ctx, st, f.hip); err != nil {
				return c.fail("linerwatch study list "+f.study+" lists them", "%s", study.Told(err))
			}
		}
	}
	show, clear := c.progress("fetching films:")
	films, lost := a.Fetch(ctx, dir, series, func(done, total int, _ string) {
		if show != nil {
			show(done, total)
		}
	})
	clear()
	fault := false
	if st != nil && ctx.Err() == nil { // else the next run keeps them
		if fault, err = c.keepIn(ctx, st, hip, f.study, films); err != nil {
			return err
		}
	}
	if err := report.Fetched(c.Stdout, c.form, films); err != nil {
		return err
	}
	for _, one := range films {
		fault = fault || one.Fault != ""
	}
	switch {
	case errors.Is(lost, context.Canceled):
		return lost
	case lost != nil:
		return fmt.Errorf("fetch: %w; what has come is kept, start it again for the rest", lost)
	case fault:
		return errPartly
	}
	return nil
}

// studyFor opens the study, or makes it where there is none and no hip of it is named.
func (c *call) studyFor(ctx context.Context, f fetchFlags) (study.Store, error) {
	if _, err := os.Stat(f.study); err == nil || f.hip != "" {
		return c.openStudy(ctx, f.study)
	}
	st, err := batch.OpenOrCreate(ctx, f.study, c.Studies)
	if err == nil && !study.IsAddress(f.study) {
		err = batch.SetGradesFirst(ctx, st, true, c.stamp(""))
	}
	if err != nil {
		return nil, fmt.Errorf("fetch: %w", err)
	}
	return st, nil
}

// keepIn keeps in a study what has come, even where the rest has not, and says so. Films
// that cannot be read get their fault.
func (c *call) keepIn(ctx context.Context, st study.Store, hip study.Hip, path string, films []study.Fetched) (fault bool, err error) {
	var paths []string
	for _, f := range films {
		if f.Path != "" {
			paths = append(paths, f.Path)
		}
	}
	show, clear := c.progress("reading films:")
	k, err := batch.KeepFilms(ctx, st, paths, hip, study.Stamp{At: c.Now(), Version: c.Version}, show)
	clear()
	if err != nil {
		return false, fmt.Errorf("fetch: %w", err)
	}
	for _, p := range slices.Sorted(maps.Keys(k.Faults)) {
		if err := c.say("%s is not kept in the study: %s", p, k.Faults[p]); err != nil {
			return false, err
		}
	}
	for _, why := range k.Contradicts {
		if err := c.say("%s", study.NoteWords(why)); err != nil {
			return false, err
		}
	}
	for _, a := range k.Apart {
		fault = fault || a.Hip != "" || a.Kind.Patient != "" && a.Kind.Patient != hip.Patient
		if err := c.say("%s", apartWords(a, hip)); err != nil {
			return false, err
		}
	}
	return fault || len(k.Faults) > 0, c.say("%s new in %s, %d there before", study.Count(k.Saved, "film"), filepath.Base(path), k.There)
}

// apartWords says why a film was not put to a hip.
func apartWords(a batch.Apart, hip study.Hip) string {
	const left = "; it is in the study, but not put to the hip"
	switch {
	case a.Hip != "":
		return fmt.Sprintf("%s is of %s already", a.Path, a.Hip) + left
	case a.Kind.Patient == "" || a.Kind.Patient == hip.Patient:
		return a.Path + " is of the other side by its file" + left
	}
	return fmt.Sprintf("%s is of another patient by its file (%s, and the hip is %s)", a.Path, a.Kind.Name(), hip.Label()) + left
}
