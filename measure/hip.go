package measure

// CupKind says what the cup's outline is.
type CupKind string

// The kinds of cup outline.
const (
	Shell CupKind = "shell" // outer outline of a metal shell
	Wire  CupKind = "wire"  // wire marker ring of a cemented polyethylene cup
)

// Hip is one hip replacement found on a film.
type Hip struct {
	Side     Side
	Head     Outline
	Cup      Outline
	CupKind  CupKind
	Warnings []Warning

	// Rim is the rim of a metal shell; where A is 0 the film does not tell it and
	// NoRim says why.
	Rim   ShellRim
	NoRim Note

	// Others are what else was weighed nearby and not taken, likeliest first.
	Others []Candidate
}

// Candidate is a head, a cup, or both that find.Hips weighed and did not take, for a
// reader to go through where that is wrong or refuses.
type Candidate struct {
	Head, Cup Circle // px, some 2 mm off; a radius of 0 where there is none
	Reason    Note   // what did not convince
}

// Refusal is the error of a film on which no hip replacement could be
// convincingly outlined. It is a finding about the film, not a fault.
type Refusal struct {
	Reason     Note
	Candidates []Candidate // what was weighed, likeliest first
}

func (r *Refusal) Error() string { return "measure: refused: " + r.Reason.String() }

// Says returns the reason.
func (r *Refusal) Says() Note { return r.Reason }
