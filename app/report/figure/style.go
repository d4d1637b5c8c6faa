package figure

// Ink is a colour.
type Ink struct{ R, G, B uint8 }

// Look is how what belongs to one group is drawn.
type Look struct {
	Ink  Ink
	Dash []float64
	Mark Mark
}

// Mark is the shape of a point.
type Mark int

// The marks.
const (
	Disc Mark = iota
	Square
	Triangle
	Diamond
	Ring
	Cross
)

// Style is how all figures look. Lengths are in points.
type Style struct {
	Letters, Small     float64 // sizes
	Thick, Line, Thin  float64 // widths of lines
	Point              float64 // radius of a mark
	Ink, Grey, Rule    Ink
	Pale, Tint         Ink // areas: of an interval, of the time of bedding-in
	Looks              []Look
	Single, Double     float64 // widths of columns, mm
	Tallest            float64 // height of a page's figures, mm
	LegendGap, TickGap float64
	Margin             float64
}

// style is the one style. Inks of groups are those of Okabe and Ito but yellow, which is too
// pale on white, in an order in which neighbours differ in grey as well. Widths of columns
// are common practice, no source.
var style = Style{
	Letters: 7.5, Small: 6.5,
	Thick: 1.4, Line: 0.9, Thin: 0.4, Point: 1.9,
	Ink: Ink{0x10, 0x16, 0x1b}, Grey: Ink{0x59, 0x63, 0x6b}, Rule: Ink{0xdd, 0xe1, 0xe4},
	Pale: Ink{0xd9, 0xe6, 0xf0}, Tint: Ink{0xf2, 0xf0, 0xea},
	Looks: []Look{
		{Ink{0x00, 0x72, 0xb2}, nil, Disc},                        // blue
		{Ink{0xe6, 0x9f, 0x00}, []float64{5, 2}, Square},          // orange
		{Ink{0x00, 0x00, 0x00}, []float64{1.5, 1.5}, Triangle},    // black
		{Ink{0x56, 0xb4, 0xe9}, []float64{7, 2, 1.5, 2}, Diamond}, // sky blue
		{Ink{0xd5, 0x5e, 0x00}, []float64{3, 1.5}, Ring},          // vermilion
		{Ink{0x00, 0x9e, 0x73}, []float64{9, 3}, Cross},           // bluish green
		{Ink{0xcc, 0x79, 0xa7}, []float64{1.5, 3}, Disc},          // reddish purple
	},
	Single: 85, Double: 175, Tallest: 230,
	LegendGap: 4, TickGap: 2.5, Margin: 2,
}

// look returns the look of the group of a number; more groups than looks begin anew.
func (s Style) look(i int) Look { return s.Looks[i%len(s.Looks)] }

// mm is a millimetre in points.
const mm = 72 / 25.4
