package session

import (
	"cmp"
	"slices"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// Kind is what films say of whose they are; empty where they do not say.
type Kind struct {
	Patient string
	Side    measure.Side
}

// Group is the films that say the same.
type Group struct {
	Kind
	Films []*Film
}

// Mixed returns the films in groups where they are of more than one patient or
// side, the largest group first; nil where they agree. With the hip known, the
// first group is that of the films which may be the hip's. Films that say nothing
// belong to every group and are in none.
func (s *Session) Mixed() []Group {
	var groups []Group
	for _, f := range s.films {
		k := Kind{f.Facts.Patient, f.Side()}
		if f.file == nil || f.mixOK || k == (Kind{}) {
			continue
		}
		i := slices.IndexFunc(groups, func(g Group) bool { return g.Kind == k })
		if i < 0 {
			groups = append(groups, Group{Kind: k})
			i = len(groups) - 1
		}
		groups[i].Films = append(groups[i].Films, f)
	}
	mine := func(g Group) int {
		if s.hipKnown && g.fits(Kind{s.hip.Patient, s.hip.Side}) {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(groups, func(a, b Group) int {
		return cmp.Or(cmp.Compare(mine(a), mine(b)), -cmp.Compare(len(a.Films), len(b.Films)))
	})
	for _, g := range groups {
		ref := groups[0].Kind
		if s.hipKnown {
			ref = Kind{s.hip.Patient, s.hip.Side}
		}
		if !g.fits(ref) {
			return groups
		}
	}
	return nil
}

// fits reports whether nothing that a and b say contradicts.
func (a Kind) fits(b Kind) bool {
	return (a.Patient == "" || b.Patient == "" || a.Patient == b.Patient) &&
		(a.Side == measure.SideUnknown || b.Side == measure.SideUnknown || a.Side == b.Side)
}

// KeepKind takes out the films that contradict k. Those with readings stay.
func (s *Session) KeepKind(k Kind) (out int) {
	var others []*Film
	for _, f := range s.films {
		if !k.fits(Kind{f.Facts.Patient, f.Side()}) && len(f.Readings) == 0 {
			others = append(others, f)
		}
	}
	out = len(others)
	s.remove("take out "+study.Count(out, "film")+" of another hip", others...)
	if s.selected == nil {
		s.show(0)
	}
	s.Say("Taken out: %s of another patient or side; their files are untouched.", study.Count(out, "film"))
	return out
}

// OpenAnyway stops Mixed from naming the films that are open now.
func (s *Session) OpenAnyway() {
	for _, f := range s.films {
		f.mixOK = true
	}
}

// Doubt says why no number of f is to be trusted yet, or "": a magnification that
// no hip has comes from a wrong head diameter or a wrong spacing.
func (s *Session) Doubt(f *Film) string {
	n := s.Numbers(f)
	_, doubtful := study.WarnMagnification(n.Magnification)
	if n.Err != nil || !n.HasMagnify || !doubtful {
		return ""
	}
	return doubtWords(n.Magnification, s.hip.Implant.HeadMM)
}
