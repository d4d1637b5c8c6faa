package study

import (
	"cmp"
	"slices"
	"strings"

	"linerwatch/measure"
)

// Kind is what films say of whose they are; empty where they do not say.
type Kind struct {
	Patient string
	Side    measure.Side
}

// Kind returns what the file of f says of whose it is.
func (f Film) Kind() Kind { return Kind{f.Facts.Patient, f.Side()} }

// Kind returns whose films of h are.
func (h Hip) Kind() Kind { return Kind{h.Patient, h.Side} }

// Fits reports whether nothing that a and b say contradicts.
func (a Kind) Fits(b Kind) bool {
	return (a.Patient == "" || b.Patient == "" || a.Patient == b.Patient) &&
		(a.Side == measure.SideUnknown || b.Side == measure.SideUnknown || a.Side == b.Side)
}

// Name returns what films of the kind are called for people.
func (a Kind) Name() string {
	name := a.Patient
	if name == "" {
		name = "no patient code"
	}
	if a.Side != measure.SideUnknown {
		name += ", " + a.Side.String()
	}
	return name
}

// Pile is films of one patient and side, as their files say, that are of no hip yet. They
// wait for a reader.
type Pile struct {
	Kind
	Waits Waits  // why they wait
	Films []Film // in date order, undated ones last
	Hip   string // ID of the hip of the study that they are of; empty where there is none yet
}

// Piles puts the films of a study that wait into piles, in order of patient and side; those
// that are not AP by themselves. Files that could not be read are in none.
func Piles(films []Film, hips []Hip) (piles []Pile) {
	type key struct {
		Kind
		waits Waits
	}
	if len(films) == 0 {
		return nil
	}
	at, hipOf := map[key]int{}, Owners(hips)
	for _, f := range films {
		if f.Waits == Unreadable {
			continue
		}
		k := key{f.Kind(), f.Waits}
		i, ok := at[k]
		if !ok {
			i = len(piles)
			at[k] = i
			piles = append(piles, Pile{Kind: k.Kind, Waits: f.Waits, Hip: hipOf(k.Kind)})
		}
		piles[i].Films = append(piles[i].Films, f)
	}
	for _, p := range piles {
		slices.SortStableFunc(p.Films, UndatedLast)
	}
	slices.SortFunc(piles, func(a, b Pile) int {
		return cmp.Or(strings.Compare(a.Patient, b.Patient), cmp.Compare(a.Side, b.Side), cmp.Compare(a.Waits, b.Waits))
	})
	return piles
}

// UndatedLast compares films by date, undated ones last, then by path.
func UndatedLast(a, b Film) int {
	x, y := a.Date(), b.Date()
	if x.IsZero() != y.IsZero() {
		return -x.Compare(y)
	}
	return cmp.Or(x.Compare(y), strings.Compare(a.Path, b.Path))
}

// Owners returns a function that tells the one hip whose films may say k, by its ID, or "".
func Owners(hips []Hip) func(k Kind) (id string) {
	by := map[string][]int{}
	for i, h := range hips {
		by[h.Patient] = append(by[h.Patient], i)
	}
	return func(k Kind) (id string) {
		if k.Patient == "" {
			return ""
		}
		for _, i := range slices.Concat(by[k.Patient], by[""]) {
			h := hips[i]
			if !k.Fits(h.Kind()) {
				continue
			}
			if id != "" {
				return ""
			}
			id = h.ID
		}
		return id
	}
}

// Why returns what the films of the pile wait for.
func (p Pile) Why() Note {
	n := Values{"N": float64(len(p.Films))}
	switch {
	case p.Waits == NotAP:
		return Note{Code: "waits.other-view", Values: n}
	case p.Hip != "":
		return Note{Code: "waits.taken", Values: n}
	}
	return Note{Code: "waits.begun", Values: n}
}

// reasons returns what stands behind that, each once.
func (p Pile) reasons() (list []Note) {
	if p.Waits != NotAP {
		return nil
	}
	for _, f := range p.Films {
		if !slices.ContainsFunc(list, func(n Note) bool { return n.String() == f.Reason.String() }) {
			list = append(list, f.Reason)
		}
	}
	return list
}

// Summary is the pile as a row among the hips.
func (p Pile) Summary() Summary {
	s := Summary{Hip: Hip{ID: strings.TrimSpace("films of " + p.Name() + " " + string(p.Waits)), Patient: p.Patient, Side: p.Side},
		State: HipNotBegun, Films: len(p.Films), Unread: len(p.Films), Why: p.Why(), Attention: p.reasons()}
	if p.Waits == NotAP {
		s.State = HipAttention
	}
	for _, f := range p.Films {
		s.Add(f.Date())
	}
	return s
}

// Waiting says how many films of a study are of no hip yet, and then of each pile why; nil
// where there are none.
func Waiting(piles []Pile) (said []string) {
	films := 0
	for _, p := range piles {
		films += len(p.Films)
		n := Note{Code: "waits.pile", Values: Values{"Name": p.Name(), "Why": p.Why(), "Reason": strings.Join(NotesWords(p.reasons()), "; ")}}
		said = append(said, NoteWords(n))
	}
	if films == 0 {
		return nil
	}
	head := Note{Code: "waits.all", Values: Values{"N": float64(films)}}
	return append([]string{NoteWords(head)}, said...)
}
