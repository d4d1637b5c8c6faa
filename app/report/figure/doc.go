// Package figure draws the figures of a paper: a hip's trend, the flow of hips and films, all hips with the means of
// their groups, differences between readers, liners not revised, rates with their intervals,
// and what shows whether the model suits. It computes no number: all come from package
// findings and from a study's trends, and are those of the tables.
//
// Every figure is drawn from one Style, in points from the top-left corner, as wide as a
// column of a journal. Lines of groups differ in colour, dash and mark, so that they are told
// apart by people who see colours otherwise (the palette of Okabe M, Ito K. Color Universal
// Design. 2008, jfly.uni-koeln.de/color) and in grey. The same input gives the same bytes.
//
// In SVG letters are paths, which look the same wherever they are shown; title and
// description are text for those who hear them. In PDF they are text in an embedded subset of
// the font. PNG states its resolution.
//
//	f, err := figure.Draw("rates", figure.Input{Findings: told}, figure.Options{Width: figure.Single})
//	err = f.Write(w, figure.SVG)
package figure
