package session

import (
	"cmp"
	"slices"

	"linerwatch/app/study"
)

// Intake sorts films by whose they are, as their files say: those of another hip than the
// one that is read wait in it, until the reader begins their hip or takes them into this.
type Intake struct {
	s *Session

	films  []study.Film // opened, and not of the hip that was read
	news   int          // of them that have not been told
	saving bool         // some are being saved
	seeing Found        // what is being read
	found  Found        // in what was opened last

	disputes []Dispute
}

// Intake returns the films that wait to be sorted.
func (s *Session) Intake() *Intake { return &s.intake }

// Any reports whether films wait.
func (in *Intake) Any() bool { return len(in.films) > 0 }

// Piles returns the films that wait, in order of patient and side; those that are not AP
// and those that cannot be read by themselves.
func (in *Intake) Piles() []Pile { return in.pilesOf(in.films) }

// open returns the piles with those films of the strip of which nobody has said yet whose
// they are.
func (in *Intake) open() []Pile {
	films := slices.Clone(in.films)
	for _, f := range in.unclaimed() {
		film := f.Film
		film.Waits = study.NotSorted
		films = append(films, film)
	}
	return in.pilesOf(films)
}

// unclaimed returns the films of the strip that were read and whose hip is not known.
func (in *Intake) unclaimed() (list []*Film) {
	if in.s.hipKnown {
		return nil
	}
	for _, f := range in.s.strip.films {
		if f.file != nil {
			list = append(list, f)
		}
	}
	return list
}

// keep lets those films wait, too, that nobody has claimed, without taking them out of the
// strip: the study keeps them when it is closed.
func (in *Intake) keep() {
	for _, f := range in.unclaimed() {
		if f.saved {
			continue
		}
		in.films = append(in.films, waitingAs(f))
	}
}

// leave lets the films wait that nobody has claimed.
func (in *Intake) leave() {
	for _, f := range in.unclaimed() {
		in.setAside(f)
	}
}

func (in *Intake) pilesOf(films []study.Film) []Pile { return study.Piles(films, in.s.book.hips) }

// hipOf returns the one hip of the study whose films may say k, or "".
func (in *Intake) hipOf(k Kind) (id string) { return study.Owners(in.s.book.hips)(k) }

// another reports whether a film that was opened is of another hip than the one that is
// read, as its file says. Where the hip's own files say whose they are, one that does
// not may be anybody's.
func (in *Intake) another(f *Film) bool {
	if !in.s.hipKnown || f.saved || f.taken {
		return false
	}
	if f.Facts.Patient == "" && f.carried {
		return true
	}
	if f.Facts.Patient == "" && slices.ContainsFunc(in.s.strip.films, func(g *Film) bool { return g != f && g.Facts.Patient != "" && !g.taken }) {
		return true
	}
	return !in.s.hip.Kind().Fits(f.Film.Kind())
}

// sortOut leaves in the strip the films of one hip where none is known yet: the kind
// that most of them are of. Where the study has that hip, it is opened with them.
func (in *Intake) sortOut() {
	if in.s.hipKnown {
		return
	}
	var kinds []Kind
	count := map[Kind]int{}
	for _, f := range in.s.strip.films {
		k := f.Film.Kind()
		if f.file == nil || f.taken || k == (Kind{}) {
			continue
		}
		if count[k]++; count[k] == 1 {
			kinds = append(kinds, k)
		}
	}
	if len(kinds) == 0 {
		in.openKnown()
		return
	}
	most := slices.MaxFunc(kinds, func(a, b Kind) int { return cmp.Compare(count[a], count[b]) })
	for _, f := range slices.Clone(in.s.strip.films) {
		if f.file != nil && !f.taken && (!most.Fits(f.Film.Kind()) || f.Facts.Patient == "" && most.Patient != "") {
			in.setAside(f)
		}
	}
	if in.hipOf(most) == "" {
		return
	}
	for _, f := range slices.Clone(in.s.strip.films) {
		if f.file != nil && !f.taken {
			in.setAside(f)
		}
	}
	if err := in.Begin(Pile{Kind: most, Waits: study.NotSorted}); err != nil {
		in.s.Say("%s", study.Told(err))
	}
}

// setAside takes a film from the strip to those that wait.
func (in *Intake) setAside(f *Film) {
	in.wait(f, study.NotSorted, study.Note{Code: "waits.another-hip"})
}

// wait takes a film from the strip to those that wait, for a reason.
func (in *Intake) wait(f *Film, why study.Waits, reason study.Note) {
	if in.s.strip.index(f) < 0 {
		return
	}
	if in.s.strip.drop(f) {
		in.s.strip.showFirst((*Film).wasRead) // one that was not may be left for later
	}
	if at := in.index(f.Facts); at >= 0 {
		in.s.work.compare(f.Film, in.films[at])
		return
	}
	film := f.Film
	film.ID, film.Revision, film.Waits, film.Reason = "", 0, why, reason
	in.films = append(in.films, film)
	in.news++
	if in.news%atOnce == 0 {
		in.save()
	}
	in.s.changed(FilmsChanged | OverviewChanged)
}

// pull takes the films of a pile from those that wait.
func (in *Intake) pull(p Pile) (taken []study.Film) {
	in.films = slices.DeleteFunc(in.films, func(f study.Film) bool {
		if f.Kind() != p.Kind || f.Waits != p.Waits {
			return false
		}
		taken = append(taken, f)
		return true
	})
	return taken
}

// Begin opens the films of a pile: as those of the hip that they are of, where the
// study has it, and else as those of a new hip, of which the reader is then asked what
// no file says. Films in the strip of which nobody has said whose they are wait instead.
// Where a hip is read that no study keeps yet, the error is ErrNoStudy.
func (in *Intake) Begin(p Pile) error {
	piles := in.open()
	i := slices.IndexFunc(piles, func(o Pile) bool { return o.Kind == p.Kind && o.Waits == p.Waits })
	if i < 0 {
		return study.NewError("waits.none", study.Values{"Name": p.Name()})
	}
	hip := piles[i].Hip
	if in.s.book.store == nil && in.s.hipKnown {
		return ErrNoStudy
	}
	in.leave()
	taken, carry := in.pull(p), func() {}
	if hip != "" {
		if err := in.s.OpenHip(hip); err != nil {
			in.films = append(in.films, taken...)
			return err
		}
	} else if err := in.s.drafts.Keep(); err != nil {
		in.films = append(in.films, taken...)
		return err
	} else {
		carry = in.s.work.carry()
		in.s.clear()
	}
	in.putIn(taken, p.Waits == study.NotAP)
	carry()
	return nil
}

// Take takes the films of a pile into the hip that is read: the reader says that they
// are this hip's, whatever their files say.
func (in *Intake) Take(p Pile) {
	in.putIn(in.pull(p), true)
}

// putIn puts films that waited into the strip; taken are those of which the reader has
// said whose they are.
func (in *Intake) putIn(list []study.Film, taken bool) {
	for _, f := range list {
		f.Waits, f.Reason = study.Sorted, study.Note{}
		if f.ID == "" {
			f.ID = f.Path // until it has been read
		}
		g := &Film{Film: f, taken: taken}
		in.s.strip.put(g)
		in.s.work.need(g)
	}
	in.s.strip.sort()
	in.s.course.renew()
	in.s.changed(Everything)
}

// Contradiction returns why f may not be this hip's film, as its file says, or "". It
// cannot be accepted before the reader vouches for it.
func (in *Intake) Contradiction(f *Film) string {
	if f == nil || f.taken {
		return ""
	}
	if w := in.s.fileContradicts(f); w.Code != "" {
		return study.WarningWords(w)
	}
	if tag := f.Side(); tag != study.SideUnknown && in.s.hip.Side != study.SideUnknown && tag != in.s.hip.Side {
		return say("intake.says-side", "Tag", tag.String(), "Side", in.s.hip.Side.String())
	}
	return ""
}

// Vouch says that f is this hip's film, whatever its file says.
func (in *Intake) Vouch(f *Film) { f.taken = true }
