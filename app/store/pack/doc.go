// Package pack writes the edge points of an outline small: some 5 bytes an edge.
//
// # Form
//
// A packed outline is one byte that names the form, 1, and a DEFLATE stream (RFC 1951)
// of columns, each of one value an edge. A value is the difference from the edge before, a
// whole number of units, zigzagged; the lowest bytes of a column come first:
//
//	where the edge lies along its ray, and across it   1/1000 px
//	its distance from the outline                      1/1000 px
//	the ray's angle, its change from edge to edge      1/10000 degree
//	strength, and SD, as logarithms                    1/100
//	why it was left out                                its place in a list of texts
//
// The ray goes out from the outline's centre at the edge's angle; so a point on it has
// nothing across, and one on a circle the distance that its place on the ray says.
// Points and residuals of the fit are those of the edges that were kept; where they are
// not, they follow as they are.
//
// What comes back differs from what went in by half a unit; of strength and SD by 0.5 %.
//
// # In short
//
//	b, err := pack.Pack(outline)
//	...
//	edges, err := pack.Unpack(b, outline.Circle)
package pack
