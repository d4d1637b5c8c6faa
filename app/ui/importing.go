package ui

import (
	"context"
	"errors"
	"regexp"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// importing is a dialog that asks for films of many patients and tables of hips, shows what
// they would do, and enters them.
type importing struct {
	w                           *window
	in                          *session.Import
	films, hips, events, values *field
	columns, site, why          *field
	dates                       *widget.Select
	both                        *widget.Check
	said                        *widget.Label
	lines                       *container.Scroll // holds said
	bar                         *widget.ProgressBar
	plans                       string // what Look has told
	look, enter, stop           *widget.Button
	working                     bool
}

// askImport asks for films of many patients and tables of hips.
func (w *window) askImport() {
	if w.closed() {
		return
	}
	d := &importing{w: w, in: w.s.Book().Import(), said: widget.NewLabel(""), bar: widget.NewProgressBar()}
	for _, f := range []**field{&d.films, &d.hips, &d.events, &d.values, &d.columns, &d.site, &d.why} {
		*f = newField(w, "")
		(*f).OnChanged = func(string) { d.changed() }
	}
	d.why.OnChanged = nil
	d.both = widget.NewCheck(say("import.both-hips"), func(bool) { d.changed() })
	d.dates = widget.NewSelect(append([]string{say("import.no-slashes")}, session.DateOrders()...), func(string) { d.changed() })
	d.columns.SetPlaceHolder(say("import.such-columns"))
	d.said.Wrapping = fyne.TextWrapWord
	d.bar.Hide()
	d.look = widget.NewButton(say("import.look"), d.plan)
	d.enter = widget.NewButton(say("import.import"), d.start)
	d.enter.Importance = widget.HighImportance
	d.stop = widget.NewButton(say("button.stop"), func() { w.s.Work().Stop() })
	d.dates.SetSelectedIndex(0)
	d.busy(false)
	d.lines = container.NewVScroll(d.said)
	d.tell(widget.LowImportance, say("import.first"))
	body := container.NewBorder(note(say("import.about")), nil, container.New(columnLayout{440}, container.NewVScroll(d.form())), nil, container.NewBorder(nil, d.bar, nil, nil, d.lines))
	asks := dialog.NewCustomWithoutButtons(say("import.import"), body, w.win)
	w.drops = d.drop
	asks.SetOnClosed(func() {
		w.drops, w.progress = nil, nil
		w.focusViewer()
	})
	w.progress = d.progress
	asks.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), asks.Hide), d.stop, d.look, d.enter})
	size := w.win.Canvas().Size()
	asks.Resize(fyne.NewSize(min(1200, size.Width-40), min(640, size.Height-40)))
	w.present(asks)
	w.win.Canvas().Focus(d.films)
}

// form asks for what is to be imported.
func (d *importing) form() fyne.CanvasObject {
	rows := container.NewVBox()
	row := func(label string, input fyne.CanvasObject) {
		rows.Add(container.NewBorder(nil, nil, container.New(columnLayout{112}, widget.NewLabel(label)), nil, input))
	}
	path := func(label, title string, want wanted, to *field) {
		row(label, container.NewBorder(nil, nil, nil, widget.NewButton(say("import.choose"), func() {
			d.w.choose(title, want, func(paths []string) { to.SetText(paths[0]) })
		}), to))
	}
	path(say("import.films"), say("import.folder-films"), aFolder, d.films)
	path(say("import.hips"), say("import.table-hips"), aTable, d.hips)
	path(say("import.events"), say("import.table-events"), aTable, d.events)
	path(say("import.of-films"), say("import.table-films"), aTable, d.values)
	row(say("import.columns"), d.columns)
	row(say("import.dates"), d.dates)
	row(say("import.site"), d.site)
	rows.Add(d.both)
	row(say("import.why-asked"), d.why)
	return rows
}

// drop takes files that are dropped on the window.
func (d *importing) drop(paths []string) {
	if d.working {
		return
	}
	a, err := d.in.Sorted(d.asked(), paths)
	if err != nil {
		d.tell(widget.DangerImportance, study.Told(err))
		return
	}
	d.films.SetText(a.Films)
	d.hips.SetText(a.Hips)
	d.events.SetText(a.Events)
	d.values.SetText(a.FilmValues)
}

// changed asks for another look before anything is entered.
func (d *importing) changed() { d.enter.Disable() }

// Spaces part the columns of a table in a face of one width, which the window's is not.
var (
	padding  = regexp.MustCompile(`(\S) {2,}`)
	trailing = regexp.MustCompile(`(?m) +$`)
)

// unpadded returns lines whose columns are parted by points.
func unpadded(lines string) string {
	return padding.ReplaceAllString(trailing.ReplaceAllString(lines, ""), "$1 · ")
}

// tell says how the import stands.
func (d *importing) tell(importance widget.Importance, lines ...string) {
	d.said.Importance = importance
	d.said.SetText(strings.Join(lines, "\n"))
	d.lines.ScrollToTop()
}

// busy says whether the import is read or entered in the background.
func (d *importing) busy(is bool) {
	d.working = is
	enable(d.look, !is)
	enable(d.stop, is)
	show(d.bar, is)
	if d.bar.SetValue(0); is {
		d.enter.Disable()
	}
}

// progress shows how far the import has come.
func (d *importing) progress() {
	if done, total := d.w.s.Work().Progress(); d.working && total > 0 {
		d.bar.SetValue(float64(done) / float64(total))
	}
}

// asked is what is to be imported.
func (d *importing) asked() session.ImportAsked {
	path := func(f *field) string { return strings.TrimSpace(f.Text) }
	a := session.ImportAsked{Films: path(d.films), Hips: path(d.hips), Events: path(d.events), FilmValues: path(d.values),
		Columns: d.columns.Text, Site: path(d.site), Both: d.both.Checked}
	if d.dates.SelectedIndex() > 0 {
		a.Dates = d.dates.Selected
	}
	return a
}

func (d *importing) plan() {
	d.busy(true)
	d.tell(widget.MediumImportance, say("import.reading"))
	d.in.Plan(d.asked(), func(said []string, ready, changes bool, err error) {
		d.busy(false)
		switch {
		case errors.Is(err, context.Canceled):
			d.tell(widget.MediumImportance, say("import.stopped"))
		case err != nil:
			d.tell(widget.DangerImportance, study.Told(err))
		default:
			d.plans = unpadded(strings.Join(said, "\n"))
			d.tell(widget.MediumImportance, d.plans)
			enable(d.enter, ready)
		}
	})
}

func (d *importing) start() {
	if d.w.s.Reader() == "" {
		d.w.askReader(d.start)
		return
	}
	d.busy(true)
	d.in.Enter(strings.TrimSpace(d.why.Text), func(err error) {
		d.busy(false)
		switch {
		case errors.Is(err, context.Canceled):
			d.tell(widget.WarningImportance, say("import.stopped-part"), d.plans)
		case err != nil:
			enable(d.enter, true)
			d.tell(widget.DangerImportance, say("import.not-entered", "Why", study.Told(err)), d.plans)
		default:
			d.tell(widget.MediumImportance, say("import.entered"), d.plans)
		}
	})
}

// askMeasureAll says what measuring the whole study is, and does it.
func (w *window) askMeasureAll() {
	if w.closed() {
		return
	}
	w.ask(say("import.measure-all"), say("import.measure-about"),
		answer{say("button.go-back"), nil}, answer{say("import.measure"), func() {
			w.s.Book().MeasureAll(func(said []string, err error) {
				if err != nil {
					w.told(err)
					return
				}
				w.s.Say("%s", said[0])
				if len(said) > 1 {
					w.listing(say("import.measured"), said)
				}
			})
		}})
}

// listing shows lines in a dialog.
func (w *window) listing(title string, said []string) {
	text := widget.NewLabel(strings.Join(said, "\n"))
	text.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustom(title, say("button.close"), container.NewScroll(text), w.win)
	d.SetOnClosed(w.focusViewer)
	d.Resize(fyne.NewSize(720, 420))
	w.present(d)
}
