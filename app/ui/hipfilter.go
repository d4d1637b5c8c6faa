package ui

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// stateFilter counts the hips of each state; a click on a count leaves those alone.
type stateFilter struct {
	object  fyne.CanvasObject // holds row
	row     *fyne.Container
	p       *hipsPage
	states  []study.HipState // "" for every one, and each
	buttons []*widget.Button
	all     *widget.Button // takes every filter off
}

func newStateFilter(p *hipsPage) *stateFilter {
	f := &stateFilter{p: p, states: append([]study.HipState{""}, study.HipStates()...)}
	var row []fyne.CanvasObject
	for _, s := range f.states {
		b := widget.NewButton("", func() { p.filter(func(o *session.Overview) { o.State = s }) })
		b.Importance = widget.LowImportance
		f.buttons, row = append(f.buttons, b), append(row, b)
	}
	f.all = widget.NewButton(say("hips.show-every-hip"), func() { p.filter((*session.Overview).ShowAll) })
	row = append(row, layout.NewSpacer(), f.all)
	f.row = container.New(layout.NewCustomPaddedHBoxLayout(2), row...)
	return f
}

func (f *stateFilter) show(o *session.Overview) {
	n, sum := o.States(), 0
	for _, k := range n {
		sum += k
	}
	for i, s := range f.states {
		text, k := s.Words(), n[s]
		if s == "" {
			text, k = say("hips.every-state"), sum
		}
		b := f.buttons[i]
		if text = fmt.Sprintf("%s  %d", study.Capital(text), k); b.Text != text {
			b.SetText(text)
		}
		enable(b, s == "" || k > 0 || s == o.State)
		mark(b, s == o.State)
	}
	show(f.all, o.Filtered())
	if some := o.Total() > 0; some != f.object.Visible() {
		show(f.object, some)
		f.p.object.Refresh() // the table moves up or down
	}
}

// orderByNext orders the hips by the next column that can.
func orderByNext(o *session.Overview) {
	var keys []session.SortKey
	for _, c := range hipsColumns {
		if c.Sorts {
			keys = append(keys, c.key)
		}
	}
	o.Sort, o.Back = keys[(slices.Index(keys, o.Sort)+1)%len(keys)], false
}

// orderBack turns the order of the hips round.
func orderBack(o *session.Overview) { o.SortBy(o.Sort) }

// countsSelect chooses whose readings count.
type countsSelect struct {
	passingSelect
	readers func() []string
	offered []study.Rule // in the order of the options
	filling bool
}

// rules are the rules of a study beside those of its readers.
func rules() []study.Rule {
	return []study.Rule{study.Anyone, study.RuleFirst, study.RuleMean, study.RuleAdjudicated}
}

func newCountsSelect(w *window, readers func() []string) *countsSelect {
	c := &countsSelect{readers: readers}
	c.w = w
	c.OnChanged = func(string) {
		if i := c.SelectedIndex(); !c.filling && i >= 0 {
			w.told(w.s.Book().SetCounts(c.offered[i]))
		}
	}
	c.ExtendBaseWidget(c)
	return c
}

func (c *countsSelect) show() {
	c.filling = true
	defer func() { c.filling = false }()
	now := c.w.s.Book().Counts()
	c.offered = rules()
	for _, more := range append(c.readers(), now, c.w.s.Reader()) {
		if !slices.Contains(c.offered, more) {
			c.offered = append(c.offered, more)
		}
	}
	var words []string
	for _, r := range c.offered {
		words = append(words, study.RuleWords(r))
	}
	c.SetOptions(words)
	c.SetSelected(study.RuleWords(now))
}
