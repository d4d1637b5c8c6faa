// Package reader writes the whole of what is known of one hip for those who read films: the
// films as pictures with outlines and residuals, readings with their standard errors, the
// rate, what it rests on and the models beside it, corrections, and who read what and when.
//
// Lengths are in mm at the level of the hip, angles in degrees, residuals in px of the film.
// Values are rounded as the tables of package report are. The words are those of the topic
// reader in assets/texts.
package reader
