package session

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// SortKey is what the hips of a study are ordered by.
type SortKey int

// The orders of hips; within each they go by their code. ByRate puts the highest rate
// first, and hips without one last.
const (
	ByState SortKey = iota // that wait for somebody first, in the order of study.HipStates
	ByCode
	ByGroup
	ByLastFilm
	ByWaiting // films that wait for a reading, most first
	ByRate
	ByMissing // most missing first
)

// shown says which hips of a table are shown, and in which order.
type shown struct {
	Text  string         // words that a hip must hold
	Group string         // "" for every group
	State study.HipState // "" for every state
	Sort  SortKey
	Back  bool // the other way round
}

// Filtered reports whether hips may be left out.
func (s shown) Filtered() bool {
	return strings.TrimSpace(s.Text) != "" || s.Group != "" || s.State != ""
}

// list is the rows that are shown, made once for all who ask.
type list struct {
	all    []*hipRow       // of the study and of films that wait, by their codes
	rows   []study.Summary // nil where they, and all, are to be made anew
	states map[study.HipState]int
	of     shown
	walk   []study.Summary // nil where it is to be made anew
}

// hipRow is a line about a hip with what it is found and ordered by.
type hipRow struct {
	study.Summary
	label string
	words string // in lower case
	rank  int    // of its state

	code, place int // of its label among those of the list, and its own, so that texts are compared once
}

func newHipRow(r study.Summary) *hipRow {
	m := r.Hip.Implant
	words := strings.Join(append([]string{
		r.Hip.Patient, r.Hip.Group, r.Hip.Side.String(), m.PE, m.HeadMaterial,
		study.Words(study.HeadMaterials(), m.HeadMaterial), m.Fixation, r.State.Words(), study.NoteWords(r.Why),
		strings.Join(r.Readers, " "),
	}, study.NotesWords(r.Remarks())...), " ")
	return &hipRow{Summary: r, label: r.Hip.Label(), words: strings.ToLower(words), rank: slices.Index(study.HipStates(), r.State)}
}

// holds reports whether every word stands somewhere in the row.
func (r *hipRow) holds(words []string) bool {
	for _, w := range words {
		if !strings.Contains(r.words, w) {
			return false
		}
	}
	return true
}

// Rows returns the hips that the filters leave, in order. They are not to be changed.
func (o *Overview) Rows() []study.Summary {
	o.makeList()
	return o.list.rows
}

// States counts the hips of each state that the other filters leave.
func (o *Overview) States() map[study.HipState]int {
	o.makeList()
	return o.list.states
}

func (o *Overview) makeList() {
	if o.list.rows != nil && o.list.of == o.shown {
		return
	}
	all := o.list.all
	if o.list.rows == nil {
		all = byCode(o.all, o.heaps)
	}
	rows, states := []*hipRow{}, map[study.HipState]int{}
	words := strings.Fields(strings.ToLower(o.Text))
	look := func(r *hipRow) {
		if o.Group != "" && r.Hip.Group != o.Group || !r.holds(words) {
			return
		}
		if states[r.State]++; o.State == "" || r.State == o.State {
			rows = append(rows, r)
		}
	}
	for _, r := range all {
		look(r)
	}
	slices.SortFunc(rows, o.order)
	o.list = list{all: all, rows: make([]study.Summary, 0, len(rows)), states: states, of: o.shown}
	for _, r := range rows {
		o.list.rows = append(o.list.rows, r.Summary)
	}
}

// byCode puts the rows in order of their codes and numbers them.
func byCode(hips map[string]*hipRow, heaps []*hipRow) []*hipRow {
	all := slices.AppendSeq(make([]*hipRow, 0, len(hips)+len(heaps)), maps.Values(hips))
	all = append(all, heaps...)
	slices.SortFunc(all, func(a, b *hipRow) int {
		return cmp.Or(cmp.Compare(a.label, b.label), cmp.Compare(a.Hip.ID, b.Hip.ID))
	})
	for i, r := range all {
		r.place, r.code = i, i
		if i > 0 && all[i-1].label == r.label {
			r.code = all[i-1].code
		}
	}
	return all
}

// order is that of two rows.
func (s shown) order(a, b *hipRow) int {
	c := s.compare(a, b)
	if s.Back {
		c = -c
	}
	return cmp.Or(c, cmp.Compare(a.place, b.place))
}

func (s shown) compare(a, b *hipRow) int {
	switch s.Sort {
	case ByCode:
		return cmp.Compare(a.code, b.code)
	case ByGroup:
		return cmp.Compare(a.Hip.Group, b.Hip.Group)
	case ByLastFilm:
		return a.Last.Compare(b.Last)
	case ByWaiting:
		return cmp.Or(-cmp.Compare(a.Unread, b.Unread), -cmp.Compare(a.Drafts, b.Drafts))
	case ByRate:
		f, g := a.Current().Fit, b.Current().Fit // as they are shown
		switch {
		case f == nil && g == nil:
			return 0
		case f == nil:
			return 1
		case g == nil:
			return -1
		}
		return -cmp.Compare(f.Rate, g.Rate)
	case ByMissing:
		return cmp.Or(-cmp.Compare(len(a.Attention), len(b.Attention)), -cmp.Compare(len(a.Missing), len(b.Missing)))
	}
	return cmp.Compare(a.rank, b.rank)
}

// SortBy orders by key; by the same key again, the other way round.
func (o *Overview) SortBy(key SortKey) {
	o.Back = o.Sort == key && !o.Back
	o.Sort = key
}

// ShowAll takes the filters off.
func (o *Overview) ShowAll() { o.Text, o.Group, o.State = "", "", "" }

// StepState filters by the next state in order of which there are hips, or by the one
// before for n below 0; before the first there is every state.
func (o *Overview) StepState(n int) {
	states := append([]study.HipState{""}, study.HipStates()...)
	for i := slices.Index(states, o.State) + n; i >= 0 && i < len(states); i += n {
		if states[i] == "" || o.States()[states[i]] > 0 {
			o.State = states[i]
			return
		}
	}
}
