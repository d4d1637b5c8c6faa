package tables

import (
	"hash/maphash"
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

// hips tells the hips of a table apart: by name, and by patient where the table has a
// column of patients, since a name such as L is then one of many.
type hips struct {
	known  map[[2]string]*hip // by patient and name
	of     map[string]*hip    // by what stands for it
	owner  map[string]string  // the first patient with a hip of a name
	shared bool               // some name is of more than one patient
	back   bool               // the years of a hip fall back
	repeat repeats
}

// hip is one of them.
type hip struct {
	id, patient, name string
	rows              int
	last              float64 // years of the latest row
}

func newHips() hips {
	return hips{known: map[[2]string]*hip{}, of: map[string]*hip{}, owner: map[string]string{}, repeat: newRepeats()}
}

// find returns the hip of a name; one without a name has no id.
func (h *hips) find(patient, name string) *hip {
	if name == "" {
		return &hip{}
	}
	if was, ok := h.known[[2]string{patient, name}]; ok {
		return was
	}
	// What is kept must not hold the whole row that it was a part of.
	one := &hip{patient: strings.Clone(patient), name: strings.Clone(name)}
	one.id = one.name
	if patient != "" {
		one.id = one.patient + "\x00" + one.name
	}
	h.known[[2]string{one.patient, one.name}], h.of[one.id] = one, one
	if had, ok := h.owner[one.name]; !ok {
		h.owner[one.name] = one.patient
	} else if had != patient {
		h.shared = true
	}
	return one
}

// shown returns the name of a hip, with its patient's where names alone do not tell the
// table's hips apart. The whole table has to be read before.
func (h *hips) shown(id string) string {
	one := h.of[id]
	switch {
	case one == nil:
		return id
	case h.shared && one.patient != "":
		return one.patient + " " + one.name
	}
	return one.name
}

// seen counts a row of a hip.
func (h *hips) seen(one *hip, years float64) {
	h.back = h.back || years < one.last
	one.rows, one.last = one.rows+1, years
}

// manyRows are more than the films of one hip in thirty years: at 6 weeks, 1, 2 and 5
// years and then every third year.
const manyRows = 12

// pooled names the only hips of a table where they are called by their side alone and
// are likely those of several patients: more rows than a hip has, or years that fall
// back.
func (h *hips) pooled() study.Note {
	many := h.back
	var names []string
	for _, one := range h.of {
		if one.patient != "" || !slices.Contains([]string{"l", "r", "left", "right"}, strings.ToLower(one.name)) {
			return study.Note{}
		}
		many = many || one.rows > manyRows
		names = append(names, one.name)
	}
	if !many {
		return study.Note{}
	}
	slices.Sort(names)
	return note("table.pooled", study.Values{"Hips": strings.Join(names, " and ")})
}

// remarks are what has to be said of a hip's rows.
func (h *hips) remarks(id string) []study.Note {
	var out []study.Note
	if n := h.repeat.of[id]; n != nil {
		out = append(out, n.note())
	}
	if s := h.pooled(); !s.IsZero() {
		out = append(out, s)
	}
	return out
}

// tell is remarks as quantities; of the hip called id, or with "" of all.
func (h *hips) tell(id string) []study.Quantity {
	of := h.repeat.order
	if id != "" {
		of = []string{id}
	}
	var out []study.Quantity
	for _, id := range of {
		if n := h.repeat.of[id]; n != nil {
			out = append(out, study.Quantity{Of: h.shown(id), Model: "table", Name: "rows that repeat another", Value: float64(n.n), Note: n.note()})
		}
	}
	if s := h.pooled(); !s.IsZero() && id == "" {
		out = append(out, h.tellPooled(s))
	}
	return out
}

func (h *hips) tellPooled(s study.Note) study.Quantity {
	return study.Quantity{Model: "table", Name: "hips", Value: float64(len(h.of)), Note: s}
}

// repeats finds rows that repeat an earlier one in every cell: copied, not read twice.
type repeats struct {
	seeds [2]maphash.Seed // 128 bits, so that no two rows are taken for one
	at    map[[2]uint64]int
	of    map[string]*repeated
	order []string // of the hips that have some
	row   []byte
}

// repeated are the rows of one hip that repeat another.
type repeated struct {
	n          int
	lines, was []string // of the first of them
}

func newRepeats() repeats {
	return repeats{seeds: [2]maphash.Seed{maphash.MakeSeed(), maphash.MakeSeed()}, at: map[[2]uint64]int{}, of: map[string]*repeated{}}
}

// again notes a row of a hip, and says whether all its cells were there before.
func (r *repeats) again(hip string, cells []string, line int) bool {
	r.row = r.row[:0]
	for _, c := range cells {
		r.row = append(append(r.row, c...), 0)
	}
	key := [2]uint64{maphash.Bytes(r.seeds[0], r.row), maphash.Bytes(r.seeds[1], r.row)}
	was, ok := r.at[key]
	if !ok {
		r.at[key] = line
		return false
	}
	n := r.of[hip]
	if n == nil {
		n = &repeated{}
		r.of[hip] = n
		r.order = append(r.order, hip)
	}
	const most = 10
	if n.n++; n.n <= most {
		n.lines, n.was = append(n.lines, strconv.Itoa(line)), append(n.was, strconv.Itoa(was))
	}
	return true
}

// String says which rows are counted once.
func (r *repeated) note() study.Note {
	v := study.Values{"N": float64(r.n), "Lines": strings.Join(r.lines, ", "), "Was": strings.Join(r.was, ", ")}
	switch {
	case r.n == 1:
		return note("table.repeats", v)
	case r.n > len(r.lines):
		return note("table.repeats.many", v)
	}
	return note("table.repeats.some", v)
}
