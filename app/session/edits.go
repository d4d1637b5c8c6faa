package session

import "linerwatch/measure"

// Edits are the changes of the selected film's outlines by keys and commands, each a
// named step. They act on the chosen outline.
type Edits struct {
	s *Session

	part measure.Part // the chosen outline
}

// Edits returns the changes of the selected film's outlines.
func (s *Session) Edits() *Edits { return &s.edits }
