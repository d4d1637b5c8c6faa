package session

// Viewer is how the selected film is shown: from where, in which greys, under which
// loupe and next to which other film. Camera and greys are each film's own, so that it
// looks the same when it is selected again; the rest is the viewer's.
type Viewer struct {
	s *Session

	width, height float64 // view pixels
	scale         float64 // view pixels per unit of the screen, 1 on a plain display
	loupe         loupe
	local         bool // local contrast inside the cup
	compare       Compare
}

// Viewer returns how the selected film is shown.
func (s *Session) Viewer() *Viewer { return &s.viewer }
