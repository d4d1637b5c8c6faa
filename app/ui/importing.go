package ui

import (
	"context"
	"errors"
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
	w            *window
	in           *session.Import
	films        *field
	hips, events *field
	columns, why *field
	site         *field
	dates        *widget.Select
	both         *widget.Check
	said         *widget.Label
	plans        string // what Look has told
	look, enter  *widget.Button
	stop         *widget.Button
}

// noSlashes says that no date is written with slashes.
func noSlashes() string { return say("import.no-slashes") }

// askImport asks for films of many patients and tables of hips.
func (w *window) askImport() {
	d := &importing{w: w, in: w.s.Book().Import(), films: newField(w, ""), hips: newField(w, ""), events: newField(w, ""),
		columns: newField(w, ""), site: newField(w, ""), why: newField(w, ""), said: widget.NewLabel("")}
	d.both = widget.NewCheck(say("import.both-hips"), func(bool) { d.changed() })
	d.dates = widget.NewSelect(append([]string{noSlashes()}, session.DateOrders()...), func(string) { d.changed() })
	d.columns.SetPlaceHolder(say("import.such-columns"))
	for _, f := range []*field{d.films, d.hips, d.events, d.columns, d.site} {
		f.OnChanged = func(string) { d.changed() }
	}
	d.said.Wrapping = fyne.TextWrapWord
	d.look = widget.NewButton(say("import.look"), d.plan)
	d.enter = widget.NewButton(say("import.import"), d.start)
	d.enter.Importance = widget.HighImportance
	d.enter.Disable()
	d.dates.SetSelected(noSlashes())
	d.stop = widget.NewButton(say("button.stop"), func() { w.s.Work().Stop() })
	d.stop.Disable()
	folder := widget.NewButton(say("button.folder"), func() {
		w.choose(say("import.folder-films"), aFolder, func(paths []string) { d.films.SetText(paths[0]) })
	})
	lines := container.NewScroll(d.said)
	lines.SetMinSize(fyne.NewSize(0, 220))
	form := widget.NewForm(
		widget.NewFormItem(say("import.films"), container.NewBorder(nil, nil, nil, folder, d.films)),
		widget.NewFormItem(say("import.table-hips"), d.hips), widget.NewFormItem(say("import.table-events"), d.events),
		widget.NewFormItem(say("import.columns"), d.columns),
		widget.NewFormItem(say("import.dates"), d.dates), widget.NewFormItem(say("import.site"), d.site), widget.NewFormItem("", d.both), widget.NewFormItem(say("import.why-asked"), d.why))
	asks := dialog.NewCustomWithoutButtons(say("import.import"), container.NewBorder(container.NewVBox(
		note(say("import.about")),
		form), nil, nil, nil, lines), w.win)
	asks.SetOnClosed(w.focusViewer)
	asks.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), asks.Hide), d.stop, d.look, d.enter})
	asks.Resize(fyne.NewSize(820, 640))
	w.present(asks)
	w.win.Canvas().Focus(d.films)
}

// changed asks for another look before anything is entered.
func (d *importing) changed() { d.enter.Disable() }

// tell says how the import stands.
func (d *importing) tell(importance widget.Importance, lines ...string) {
	d.said.Importance = importance
	d.said.SetText(strings.Join(lines, "\n"))
}

// busy says whether the import is read or entered in the background.
func (d *importing) busy(is bool) {
	enable(d.look, !is)
	enable(d.stop, is)
	if is {
		d.enter.Disable()
	}
}

func (d *importing) plan() {
	d.busy(true)
	d.tell(widget.MediumImportance, say("import.reading"))
	path := func(f *field) string { return strings.TrimSpace(f.Text) }
	asked := session.ImportAsked{Films: path(d.films), Hips: path(d.hips), Events: path(d.events), Columns: d.columns.Text,
		Dates: strings.TrimPrefix(d.dates.Selected, noSlashes()), Site: path(d.site), Both: d.both.Checked}
	d.in.Plan(asked, func(said []string, ready, changes bool, err error) {
		d.busy(false)
		switch {
		case errors.Is(err, context.Canceled):
			d.tell(widget.MediumImportance, say("import.stopped"))
		case err != nil:
			d.tell(widget.DangerImportance, study.Told(err))
		default:
			d.plans = strings.Join(said, "\n")
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
