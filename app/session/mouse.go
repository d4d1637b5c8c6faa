package session

// Mouse is what the pointer does on the selected film: it holds outlines and lines by
// their handles, and draws with the tool in hand. It takes plain events.
type Mouse struct {
	s *Session

	hover   Grip     // under the pointer
	drag    drag     // under way
	sketch  sketch   // the tool in hand and what it has drawn so far
	drawing *drawing // a reference line being drawn
}

// busy reports whether a drag is under way.
func (m *Mouse) busy() bool { return m.drag.kind != dragNone }

// letGo ends what the pointer does without keeping it.
func (m *Mouse) letGo() { m.drag, m.hover = drag{}, Grip{} }

// Mouse returns what the pointer does on the selected film.
func (s *Session) Mouse() *Mouse { return &s.mouse }
