// Package phantom renders radiographic phantom films of hip replacements with
// known truth, for demonstration and tests.
//
// # Geometry
//
// A point source sends rays to a flat detector. Lengths are millimetres. In the
// frame of the patient x grows to the patient's left (image right on a film in
// the standard display), y is caudal (image down), z is anterior (towards the
// source), and the origin is the midpoint between the two hips. The source lies
// Scene.SourceHip in front of that plane and Scene.SourceImage in front of the
// detector, so a thing in the plane of the hips is magnified by
// SourceImage/SourceHip. Pixel coordinates are those of package measure.
//
// # Objects
//
// Head, shell, liner, neck, screws and marker wire have exact path lengths
// along each ray (quadrics cut by planes). Bones, the stem's body and the
// body's outline are plates: an outline drawn in a frontal plane, with rounded
// edges of stated thickness and, for bone, a cortex of stated thickness.
//
// Besides these a scene may have what clutters clinical films: rough coatings,
// flanges, skirts, cement, cables (Detail), balls, nails and plates (Piece), lead
// letters and the blades of a collimator. The zero value has none of them.
//
// A cross-table lateral film (Scene.Lateral) turns the patient under the same
// source; flat bones have no thickness from there, so femur, stem and the bones
// around the cup are plain cones in it.
//
// # Image formation
//
// Beer and Lambert's law at several photon energies, an energy-integrating
// detector, smooth scatter, Gaussian blur of the intensity, photon noise, then
// the logarithm and grey levels with bone bright. The coefficients are in
// material.go with their source.
//
// # Truth
//
// Truths fits circles to the exact projected silhouettes, independent of the
// rendered pixels. Off the central ray a silhouette is an ellipse (axis ratio
// about 1.005 at 100 mm), so a circle through a part of it differs from Truth
// by up to some hundredths of a millimetre, the same on films taken alike.
//
// # Sets of films
//
// Package chance draws hips and films at random over wide ranges, and package
// station turns what Expose returns into greys in the ways of many stations.
// Series moves the head of a hip over the years and lays the patient anew for
// each film. Hard turns a scene into the kind that readers complain of. The
// anatomy is drawn freehand and stands for nobody.
//
//	s := phantom.Default()
//	s.Hips = []phantom.Hip{{Side: measure.Right, HeadMM: 28, ShellMM: 54, Cup: measure.Shell}}
//	film, err := phantom.Render(s)
//	truth, err := phantom.Truths(s)
package phantom
