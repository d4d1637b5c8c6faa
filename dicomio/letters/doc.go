// Package letters finds what looks like type that was written into a picture: strokes
// of one width, at the top or the bottom of the picture's greys, that stand out from
// what is around them and stand in a row.
//
// It finds no handwriting, no letters fewer than
// three in a row and none that do not stand out. Side markers of lead are mostly one
// letter. What it finds need not be text: a row of clips or the marks of a ruler pass
// for letters. A person has to look.
//
// Coordinates are pixels; (0, 0) is the top-left one.
package letters
