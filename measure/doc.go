// Package measure finds the head and the cup of a total hip replacement on a
// plain film and turns the two outlines into a reading.
//
// # Purpose
//
// A reading says how far the centre of the femoral head lies from the centre
// of the cup, in millimetres at the level of the hip, with a standard error.
// The difference of two readings is the penetration between two films. The
// package proposes; a reader reviews every outline. It is an aid for research
// and follow-up and not cleared for diagnosis.
//
// # Units and coordinates
//
// Outlines are in pixels. (0, 0) is the top-left corner of the top-left pixel,
// so that pixel's centre is (0.5, 0.5) (DICOM PS3.3 C.18.6); x grows to the
// right and y downwards. Pixels are square. Films are image.Gray16 with bone
// and metal bright. Vectors are in mm, superior and medial positive for both
// sides, on a film whose left edge shows the patient's right. Angles are in
// degrees.
//
// # Method
//
// FitCircle minimises the weighted sum of squared orthogonal distances, from
// the start of Taubin (1991). Refine finds one edge per radial profile, where a
// blurred step fits the grey levels best, and fits the circle to those edges
// that agree. RefineRing fits the picture of a whole wire ring, or the crests of
// its lines where they lie apart. Detect proposes centres by the votes of gradient directions
// (Kimme, Ballard and Sklansky 1975), refines head and cup, and refuses a film
// on which the pair is not convincing. A head that a dense shell hides is found
// from its shell: by the circle inside it along which most edges run, however
// faint, if no other shows nearly as much. Read takes the scale from the head's
// known diameter.
//
// The two outlines are fitted as circles. A sphere away from the central ray
// casts an ellipse, and spheres of different size about one centre do not share
// the centre of their shadows; Read leaves both, Beam.Read corrects them where
// the source's distance is known. FindRim fits the picture of a hollow sphere cut
// by the plane of its rim to the film around a metal shell's opening. From outlines
// and rims come Gap and ShortestDistance, WearVolume, ReadRim with Murray's
// conversions, and Combine for an AP and a lateral film.
//
// # References
//
// Taubin G. IEEE Trans Pattern Anal Mach Intell 1991;13:1115-1138.
// Gander W, Golub GH, Strebel R. BIT 1994;34:558-578.
// Al-Sharadqah A, Chernov N. Electron J Stat 2009;3:886-911.
// Kimme C, Ballard D, Sklansky J. Commun ACM 1975;18:120-122.
// Charnley J, Cupic Z. Clin Orthop 1973;95:9-25 (uniradiograph, duoradiograph).
// Livermore J, Ilstrup D, Morrey B. J Bone Joint Surg Am 1990;72:518-528.
// Hashimoto Y et al. Trans Orthop Res Soc 1995;20:116 (wear volume).
// Murray DW. J Bone Joint Surg Br 1993;75:228-232 (orientation of the cup).
//
// # In short
//
//	hips, err := measure.Detect(ctx, film, measure.Options{HeadMM: 28, Spacing: 0.15})
//	...
//	r, err := measure.Read(hips[0].Head.CircleFit, hips[0].Cup.CircleFit, 28, hips[0].Side, 0)
package measure
