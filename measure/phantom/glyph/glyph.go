// Package glyph draws letters and digits as straight strokes, for lead markers
// and for text that is burned into a film.
//
// A letter is 0.6 wide and 1 high; the origin is its top left corner, y grows
// downwards. The shapes are drawn for this package.
package glyph

import (
	"math"
	"strings"
)

// Segment is a straight stroke.
type Segment struct{ X0, Y0, X1, Y1 float64 }

// Advance is the distance from one letter to the next.
const Advance = 0.82

// shapes lists each letter's strokes as chains of points on a grid of 7 columns
// (0 to 6) and 11 rows (0 to 9 and a), two characters a point.
var shapes = map[rune]string{
	'A': "0a30 306a 1757", 'B': "000a 004040515254544545 05455668595a0a", 'C': "625140201102081929495968",
	'D': "000a 003051636759390a", 'E': "60000a6a 0545", 'F': "60000a 0545", 'G': "625140201102081929495868 6545",
	'H': "000a 606a 0565", 'I': "303a", 'J': "606839190807", 'K': "000a 6005 256a", 'L': "000a6a", 'M': "0a0035606a",
	'N': "0a006a60", 'O': "40201102081a2a4a59685251", 'P': "000a 0040515344450545", 'Q': "2040516268594a2a190802112040 476a",
	'R': "000a 00405153444505 356a", 'S': "625140201102144456685949291908", 'T': "0060 303a", 'U': "00081a2a4a596860",
	'V': "003a60", 'W': "001a345a60", 'X': "006a 600a", 'Y': "003560 353a", 'Z': "00600a6a",
	'0': "2040516268594a2a190802112040", '1': "12303a", '2': "02112040516263 630a6a", '3': "0211204051625344 2444 44566859492908",
	'4': "406a 4007 0767", '5': "60000545566859491908", '6': "5130120818294a596856453516", '7': "00602a", '8': "204051534424131120 244466684a2a080624",
	'9': "1a3a685240201103144455", '/': "600a", '-': "1555", '.': "2a3a", ':': "2333 2838",
}

// Text returns the strokes of a text of height 1; characters that have none are
// left blank.
func Text(text string) (all []Segment) {
	for i, r := range []rune(strings.ToUpper(text)) {
		x := Advance * float64(i)
		for _, chain := range strings.Fields(shapes[r]) {
			points := parse(chain)
			for k := 1; k < len(points); k++ {
				a, b := points[k-1], points[k]
				all = append(all, Segment{x + a[0], a[1], x + b[0], b[1]})
			}
		}
	}
	return all
}

// parse reads pairs of a column and a row.
func parse(chain string) (points [][2]float64) {
	digit := func(c byte) float64 {
		if c == 'a' {
			return 10
		}
		return float64(c - '0')
	}
	for i := 0; i+1 < len(chain); i += 2 {
		points = append(points, [2]float64{digit(chain[i]) / 10, digit(chain[i+1]) / 10})
	}
	return points
}

// Distance returns how far a point is from the nearest of the strokes, infinite
// where there are none.
func Distance(strokes []Segment, x, y float64) float64 {
	best := math.Inf(1)
	for _, s := range strokes {
		dx, dy := s.X1-s.X0, s.Y1-s.Y0
		t := 0.0
		if l := dx*dx + dy*dy; l > 0 {
			t = min(1, max(0, ((x-s.X0)*dx+(y-s.Y0)*dy)/l))
		}
		best = min(best, math.Hypot(s.X0+t*dx-x, s.Y0+t*dy-y))
	}
	return best
}
