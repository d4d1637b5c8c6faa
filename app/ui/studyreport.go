package ui

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/findings"
	"linerwatch/app/report"
	"linerwatch/app/report/account"
	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// groupingNames returns what hips can be compared by, in the order of findings.Groupings.
func groupingNames() []string {
	return []string{say("writing.by-group"), say("writing.by-pe"), say("writing.by-head"), say("writing.by-diameter")}
}

// askReport asks where the report of the study goes, and writes it.
func (w *window) askReport() {
	by := newSelect(w, groupingNames(), nil)
	by.SetSelected(groupingNames()[0])
	speech := newSelect(w, languages(), nil)
	speech.SetSelected(languageName(pageLanguage(w.s)))
	about := []string{
		say("writing.writes-report-whole"),
		say("writing.report-counted", "Hips", w.hipsText(), "Rule", session.CountsWords(w.s.Book().Counts())),
	}
	w.askFile(say("writing.write-report"), w.beside("-report.pdf"), about, func(to *writing, path string, over report.Over) {
		to.tell(widget.MediumImportance, say("writing.reads-study"))
		w.report(path, over, findings.Groupings()[max(0, slices.Index(groupingNames(), by.Selected))], speechOf(texts.Codes()[max(0, speech.SelectedIndex())]), to.ended)
	}, container.NewHBox(widget.NewLabel(say("writing.compare-hips")), container.NewGridWrap(fyne.NewSize(260, by.MinSize().Height), by),
		widget.NewLabel(say("printing.language")), container.NewGridWrap(fyne.NewSize(130, by.MinSize().Height), speech)))
}

// report writes the report of the study in the background.
func (w *window) report(path string, over report.Over, by findings.By, speech texts.Speech, done func(said string, err error)) {
	ending := strings.ToLower(filepath.Ext(path))
	if ending != ".pdf" && ending != ".html" {
		done("", errors.New(say("writing.name-report")))
		return
	}
	if by == findings.Groupings()[0] {
		by = findings.ByGroup
	}
	if err := w.s.Book().Hidden(); err != nil {
		done("", err)
		return
	}
	o := findings.Options{Whose: w.s.Book().Counts(), By: by, Speech: speech, Model: true, Checks: true}
	now := w.s.Book().Stamp()
	about := account.About{Study: study.NameOf(w.s.Book().Path()), Program: "Linerwatch " + now.Version, Date: now.At, Demo: w.s.Book().Demo()}
	w.s.Book().Apart(func(ctx context.Context, st study.Store) error {
		var err error
		if o.Lists, err = st.Lists(ctx); err != nil {
			return err
		}
		g := findings.New(o)
		err = st.Records(ctx, func(r study.Record) error { g.Add(r); return nil })
		if err != nil {
			return err
		}
		waiting, err := st.Unsorted(ctx)
		if err != nil {
			return err
		}
		for _, f := range waiting {
			g.Wait(f)
		}
		a := account.New(g.Tell(), about)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return report.SaveFile(path, over, func(out io.Writer) error {
			if ending == ".html" {
				return a.HTML(out)
			}
			return a.PDF(out, "")
		})
	}, func(err error) {
		if err != nil {
			done("", err)
			return
		}
		w.disclosed(study.WrittenStudy, "")
		done(say("writing.written", "Path", path), nil)
	})
}
