// Package find outlines the head and the cup of a total hip replacement on a plain
// film.
//
// # Purpose
//
// Hips proposes the outlines of every hip on a film, or refuses and says why.
// Refine and Ring go on from an outline that a reader has placed, ShellRim finds the
// rim of a metal shell, and AlignPelvis tells how far the pelvis is turned between
// two films. A reader reviews every outline. It is an aid for research and follow-up
// and not cleared for diagnosis.
//
// # Units and coordinates
//
// Films are image.Gray16 with bone and metal bright, their pixels square. Outlines
// are in pixels: (0, 0) is the top-left corner of the top-left pixel, so that
// pixel's centre is (0.5, 0.5) (DICOM PS3.3 C.18.6); x grows to the right and y
// downwards. Angles are in degrees, from +x towards +y.
//
// # Method
//
// Hips proposes centres by the votes of gradient directions (Kimme, Ballard and Sklansky
// 1975), and circles about them by the consensus of triples of edges (Fischler and Bolles
// 1981). Each is weighed by how many times likelier the film is with it than without:
// in each of 96 sectors by the rank of the strongest fall of the grey level at its place
// among all falls nearby, which no monotone change of grey touches, along a chain of
// sectors in which the outline shows or is hidden; and by how often what lies inside of it
// is brighter than what lies outside. Heads and cups compete together, and the likeliest
// pair is taken if films without one show it less often than alarms.go says (the
// a-contrario principle, Desolneux, Moisan and Morel 2000; for circles Akinlar and Topal
// 2013). A head that a dense shell hides is found from its shell; a ring of wire that is
// not the shell's rim is the cup, and the circle around it its cement. Of a shell the half
// turn that shows most is fitted, since the lip of its rim runs close beside the other.
//
// Package film, below, holds what knows pixels and no hips: patches, profiles, noise
// and tone.
//
// # References
//
// Akinlar C, Topal C. Pattern Recognition 2013;46:725-740.
// Desolneux A, Moisan L, Morel JM. International Journal of Computer Vision 2000;40:7-23.
// Fischler MA, Bolles RC. Commun ACM 1981;24:381-395.
// Kimme C, Ballard D, Sklansky J. Commun ACM 1975;18:120-122.
//
// # In short
//
//	hips, err := find.Hips(ctx, film, find.Options{HeadMM: 28, Spacing: 0.15})
//	...
//	cup, err := hips[0].CupCircle(28, 0)
//	...
//	r, err := measure.Read(hips[0].Head.CircleFit, cup, 28, hips[0].Side, 0)
package find
