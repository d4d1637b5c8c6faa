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
)

// groupingNames are what hips can be compared by, in the order of findings.Groupings.
var groupingNames = []string{"the group of the study", "polyethylene", "material of the head", "diameter of the head"}

// askReport asks where the report of the study goes, and writes it.
func (w *window) askReport() {
	by := newSelect(w, groupingNames, nil)
	by.SetSelected(groupingNames[0])
	about := []string{
		"Writes a report of the whole study as PDF, or as one page of HTML where the file's name ends so: the flow of hips and films, penetration by visit, rates by group, agreement, survival, methods, and what was done by hand.",
		w.hipsText() + ". Counted: " + session.CountsWords(w.s.Book().Counts()) + ".",
	}
	w.askFile("Write report", w.beside("-report.pdf"), about, func(to *writing, path string, over report.Over) {
		to.tell(widget.MediumImportance, "Reading the study …")
		w.report(path, over, findings.Groupings()[max(0, slices.Index(groupingNames, by.Selected))], to.ended)
	}, container.NewHBox(widget.NewLabel("Compare hips by"), container.NewGridWrap(fyne.NewSize(260, by.MinSize().Height), by)))
}

// report writes the report of the study in the background.
func (w *window) report(path string, over report.Over, by findings.By, done func(said string, err error)) {
	ending := strings.ToLower(filepath.Ext(path))
	if ending != ".pdf" && ending != ".html" {
		done("", errors.New("name it FILE.pdf or FILE.html"))
		return
	}
	if by == findings.Groupings()[0] {
		by = findings.ByGroup
	}
	g := findings.New(findings.Options{Whose: w.s.Book().Counts(), By: by, Model: true, Checks: true})
	now := w.s.Book().Stamp()
	about := account.About{Study: filepath.Base(w.s.Book().Path()), Program: "Linerwatch " + now.Version, Date: now.At, Demo: w.s.Book().Demo()}
	w.s.Book().Apart(func(ctx context.Context, st study.Store) error {
		err := st.Records(ctx, func(r study.Record) error { g.Add(r); return nil })
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
		done("Written to "+path+".", nil)
	})
}
