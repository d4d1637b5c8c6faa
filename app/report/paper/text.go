package paper

import (
	"strings"
	"unicode"
)

// Ink is a colour. What is told by one has to be told without it, too: most pages are
// printed in black.
type Ink struct{ R, G, B uint8 }

// The inks.
var (
	Black = Ink{0x1c, 0x24, 0x2b}
	Grey  = Ink{0x59, 0x63, 0x6b}
	Rule  = Ink{0xb9, 0xc0, 0xc5}
	Pale  = Ink{0xec, 0xee, 0xf0}
	White = Ink{0xff, 0xff, 0xff}
)

// Style is how letters look. The zero value is the document's text.
type Style struct {
	Points float64
	Bold   bool
	Ink    Ink // black where zero
}

// pointMM is a point in mm.
const pointMM = 25.4 / 72

// leading is the distance of lines over the size of letters.
const leading = 1.27

// Line returns the height of a line, mm.
func (s *Sheet) Line(st Style) float64 { return s.points(st) * pointMM * leading }

func (s *Sheet) points(st Style) float64 {
	if st.Points == 0 {
		return s.opt.Points
	}
	return st.Points
}

func (s *Sheet) dress(st Style) {
	face := ""
	if st.Bold {
		face = "B"
	}
	s.pdf.SetFont(family, face, s.points(st))
	if st.Ink == (Ink{}) {
		st.Ink = Black
	}
	s.pdf.SetTextColor(int(st.Ink.R), int(st.Ink.G), int(st.Ink.B))
}

// clean makes text one that the font can write: without control characters, and with a
// question mark for what lies beyond the letters that PDF's two bytes tell apart.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return ' '
		case unicode.Is(unicode.Cf, r) || unicode.IsControl(r):
			return -1
		case r > 0xffff || r == unicode.ReplacementChar:
			return '?'
		}
		return r
	}, text)
}

// Put writes one line with its base at y.
func (s *Sheet) Put(x, y float64, st Style, text string) {
	s.dress(st)
	s.pdf.Text(x, y, clean(text))
}

// Measure returns the width of a line.
func (s *Sheet) Measure(st Style, text string) float64 {
	s.dress(st)
	return s.pdf.GetStringWidth(clean(text))
}

// Wrap returns the lines of a text of a width; a word that is wider is broken, after a
// hyphen of it where one lies in the line.
func (s *Sheet) Wrap(st Style, width float64, text string) (lines []string) {
	s.dress(st)
	fits := func(t string) bool { return s.pdf.GetStringWidth(t) <= width }
	line := ""
	for _, word := range strings.Fields(clean(text)) {
		if joined := strings.TrimSpace(line + " " + word); fits(joined) {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for !fits(word) {
			n := fitting(word, fits)
			lines, word = append(lines, word[:n]), word[n:]
		}
		line = word
	}
	if line != "" || lines == nil {
		lines = append(lines, line)
	}
	return lines
}

// fitting returns how many bytes of a word that is too wide fit: those up to the last hyphen
// that does, or else as many letters as do, one at least.
func fitting(word string, fits func(string) bool) int {
	n, hyphen := 0, 0
	for i, r := range word {
		end := i + len(string(r))
		if i > 0 && !fits(word[:end]) {
			break
		}
		n = end
		if r == '-' || r == '_' {
			hyphen = end
		}
	}
	if hyphen > 0 {
		return hyphen
	}
	return n
}

// Height returns the height of a text of a width.
func (s *Sheet) Height(st Style, width float64, text string) float64 {
	return float64(len(s.Wrap(st, width, text))) * s.Line(st)
}

// Block writes a text of a width at a place and returns its height; it breaks no page.
func (s *Sheet) Block(x, y, width float64, st Style, text string) float64 {
	lines := s.Wrap(st, width, text)
	for i, l := range lines {
		s.Put(x, y+float64(i)*s.Line(st)+s.points(st)*pointMM, st, l)
	}
	return float64(len(lines)) * s.Line(st)
}

// TextIn writes a paragraph. Where a page ends in it, two lines at least stay on either side.
func (s *Sheet) TextIn(st Style, text string) {
	lines, h := s.Wrap(st, s.Width(), text), s.Line(st)
	for i, l := range lines {
		left := len(lines) - i
		if room := int((s.Bottom() - s.y) / h); i == 0 && len(lines) > 1 && room < 2 || left == 2 && room == 1 {
			s.NewPage()
		}
		s.Need(h)
		s.Put(s.Left(), s.y+s.points(st)*pointMM, st, l)
		s.y += h
	}
	s.y += 0.22 * h
}

// Text writes a paragraph in the document's letters.
func (s *Sheet) Text(text string) { s.TextIn(Style{}, text) }

// Heading writes a heading of a level from 1 on, with room for some lines below it on the
// same page, and makes it a bookmark.
func (s *Sheet) Heading(level int, text string) {
	st := Style{Bold: true, Points: s.opt.Points * []float64{1.7, 1.22, 1.05}[min(max(level, 1), 3)-1]}
	s.Space(0.5 * s.Line(st))
	s.Need(s.Height(st, s.Width(), text) + 3*s.Line(Style{}))
	s.dress(st)
	s.pdf.Bookmark(clean(text), level-1, s.y)
	s.TextIn(st, text)
}
