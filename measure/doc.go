// Package measure holds the values that describe a total hip replacement on a
// plain film, and the arithmetic that turns two outlines into a reading.
//
// # Purpose
//
// A reading says how far the centre of the femoral head lies from the centre
// of the cup, in millimetres at the level of the hip, with a standard error.
// The difference of two readings is the penetration between two films. It is an
// aid for research and follow-up and not cleared for diagnosis.
//
// Nothing here looks at an image: package fit fits circles to points, package find
// outlines head and cup on a film, and phantom renders films of which
// the truth is known.
//
// # Units and coordinates
//
// Outlines are in pixels. (0, 0) is the top-left corner of the top-left pixel,
// so that pixel's centre is (0.5, 0.5) (DICOM PS3.3 C.18.6); x grows to the
// right and y downwards. Pixels are square. Vectors are in mm, superior and
// medial positive for both sides, on a film whose left edge shows the patient's
// right. Angles are in degrees.
//
// # Arithmetic
//
// Read takes the scale from the head's known diameter. The two outlines are
// circles. A sphere away from the central ray casts an ellipse, and spheres of
// different size about one centre do not share the centre of their shadows; Read
// leaves both, Beam.ReadHip corrects them where the source's distance is known. The centre
// of a marker ring's ellipse is not the ring's own; Hip.CupCircle puts it for a usual
// beam, Beam.ReadHip for a known one.
//
// # References
//
// Charnley J, Cupic Z. Clin Orthop 1973;95:9-25 (uniradiograph, duoradiograph).
// Livermore J, Ilstrup D, Morrey B. J Bone Joint Surg Am 1990;72:518-528.
// Hashimoto Y et al. Trans Orthop Res Soc 1995;20:116 (wear volume).
// Murray DW. J Bone Joint Surg Br 1993;75:228-232 (orientation of the cup).
//
// # In short
//
//	cup, err := hip.CupCircle(28, 0)
//	...
//	r, err := measure.Read(hip.Head.CircleFit, cup, 28, hip.Side, 0)
//	...
//	penetration := r.Offset.Sub(baseline.Offset)
package measure
