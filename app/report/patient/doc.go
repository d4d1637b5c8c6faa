// Package patient says of one hip, in plain words, what was measured on its films and what
// that cannot say, for the window and for a page on paper: one text and one rounding for
// both. It gives no advice, no date and no risk.
//
// Lengths are in mm at the level of the hip, times in years since surgery; "in" and "up" are
// the superior component of the penetration. The words are those of the topic patient in
// assets/texts.
package patient
