package batch

import (
	"errors"
	"os"
	"path/filepath"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
)

// reject has the archive reject what was written of readings of a film that were withdrawn
// since, where no report of the same reader follows that holds, and says so in out.
func (w resultWriter) reject(e study.FilmEntry, number int, out *study.Written) {
	withdrawn := map[string]study.Withdrawal{}
	for _, g := range w.record.Readings {
		if g.FilmID == e.ID && !g.Stands() {
			withdrawn[g.ID] = *g.Withdrawn
		}
	}
	if len(withdrawn) == 0 {
		return
	}
	found, _, err := w.reportsOf(e.Film)
	if err != nil && out.Fault.IsZero() {
		out.Fault = study.NoteOf(err)
	}
	holds := map[string]bool{} // whether the last report of a reader does
	for _, f := range found {
		if f.Hip == w.record.Hip.ID {
			_, back := withdrawn[f.Reading]
			holds[f.Reader] = !back
		}
	}
	for _, f := range found {
		by, back := withdrawn[f.Reading]
		if !back || f.Hip != w.record.Hip.ID || holds[f.Reader] {
			continue
		}
		w.rejectOne(f, by, number, out)
	}
}

// rejectOne writes the rejection of what was written with a report.
func (w resultWriter) rejectOne(f filedReport, by study.Withdrawal, number int, out *study.Written) {
	file := filepath.Base(f.name) + rejectionEnd
	told := study.Note{Code: "result.rejected", Values: study.Values{"File": file}}
	if _, err := os.Lstat(f.name + rejectionEnd); err == nil {
		out.There = true
		out.Notes = append(out.Notes, told)
		return
	}
	r := result.Rejection{
		Film: f.Film, Hip: f.Hip, Why: study.NoteWords(study.Note{Code: "result.why-rejected"}),
		Source: result.Source{Program: f.Program, Version: w.opt.Version, Reader: by.Reader, Made: w.opt.Now, Number: number},
	}
	var err error
	r.Of, err = written(f)
	var item dicomio.Item
	if err == nil {
		item, err = r.Item()
	}
	if err == nil {
		err = w.opt.Save(f.name+rejectionEnd, item.Write)
	}
	if err != nil {
		out.Fault = study.NoteOf(err)
		return
	}
	told.Code = "result.reject"
	out.Files, out.Notes = append(out.Files, file), append(out.Notes, told)
}

// written are the report and what stands in the folder beside it.
func written(f filedReport) ([]result.Instance, error) {
	all := []result.Instance{f.is}
	for _, end := range []string{pictureEnd, stateEnd} {
		i, err := dicomio.ReadItem(f.name + end)
		switch {
		case errors.Is(err, os.ErrNotExist): // moved away: it is not known which it was
		case err != nil:
			return nil, err
		default:
			all = append(all, result.InstanceOf(i))
		}
	}
	return all, nil
}
