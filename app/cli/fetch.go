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
		return c.fail(tryHelp(c.name), say("archive.nothing-to-do", "What", c.films[0]))
	case f.archive == "":
		return c.fail(say("fetch.name-archive"), say("fetch.no-archive"))
	case f.patient == "":
		return c.fail(say("fetch.give-patient"), say("fetch.no-patient"))
	case f.out != "" && f.study != "":
		return c.fail(say("cli.leave-one"), say("fetch.two-places"))
	case f.hip != "" && f.study == "":
		return c.fail(say("fetch.name-study", "Ext", study.FileExt), say("fetch.hip-of-study"))
	case f.study != "" && !study.IsFile(f.study):
		return c.fail(say("cli.ends-in", "Ext", study.FileExt), say("cli.not-study-file", "File", f.study))
	}
	if info, err := os.Stat(f.out); err == nil && !info.IsDir() {
		return c.fail(say("cli.name-folder"), say("cli.file-not-folder", "File", f.out))
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
			return nil, errors.New(say("fetch.no-series", "UID", uid))
		}
	}
	if len(others) > 0 && len(f.series) == 0 {
		if err := c.say(say("fetch.not-films", "What", counted(others))); err != nil {
			return nil, err
		}
	}
	if len(out) == 0 {
		return nil, errors.New(say("fetch.none"))
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
				return c.fail(say("fetch.lists-hips", "Study", f.study), study.Told(err))
			}
		}
	}
	show, clear := c.progress(say("cli.fetches"))
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
		return fmt.Errorf("fetch: %w; %s", lost, say("fetch.start-again"))
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
	if err != nil {
		return nil, fmt.Errorf("fetch: %w", err)
	}
	if !study.IsAddress(f.study) {
		if err := batch.SetGradesFirst(ctx, st, true, c.stamp("")); err != nil {
			return nil, fmt.Errorf("fetch: %w", errors.Join(err, st.Close()))
		}
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
	show, clear := c.progress(say("cli.reads-films"))
	k, err := batch.KeepFilms(ctx, st, paths, hip, study.Stamp{At: c.Now(), Version: c.Version}, show)
	clear()
	if err != nil {
		return false, fmt.Errorf("fetch: %w", err)
	}
	for _, p := range slices.Sorted(maps.Keys(k.Faults)) {
		if err := c.say(say("fetch.not-kept", "File", p, "Why", k.Faults[p])); err != nil {
			return false, err
		}
	}
	for _, why := range k.Contradicts {
		if err := c.say(study.NoteWords(why)); err != nil {
			return false, err
		}
	}
	for _, a := range k.Apart {
		fault = fault || a.Hip != "" || a.Kind.Patient != "" && a.Kind.Patient != hip.Patient
		if err := c.say(apartWords(a, hip)); err != nil {
			return false, err
		}
	}
	return fault || len(k.Faults) > 0, c.say(say("fetch.kept", "N", k.Saved, "Study", filepath.Base(path), "There", k.There))
}

// apartWords says why a film was not put to a hip.
func apartWords(a batch.Apart, hip study.Hip) string {
	switch {
	case a.Hip != "":
		return say("fetch.of-hip-already", "Path", a.Path, "Hip", a.Hip)
	case a.Kind.Patient == "" || a.Kind.Patient == hip.Patient:
		return say("fetch.other-side", "Path", a.Path)
	}
	return say("fetch.other-patient", "Path", a.Path, "Why", a.Kind.Name(), "Hip", hip.Label())
}
