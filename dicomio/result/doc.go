// Package result makes DICOM objects of what was measured on a film, for the archive
// that the film comes from: a Report (Comprehensive SR, PS3.3 A.35.3, by the templates
// TID 1500, 1410 and 1501 of PS3.16), a State (Grayscale Softcopy Presentation State,
// A.33.1) and a Capture (Secondary Capture, A.8.1). Each refers to its film and has the
// film's patient and study. ReadReport reads a Report again.
//
// # Coordinates and units
//
// Outlines are in the pixels of the film's file, (0, 0) at the corner of the top-left
// one, x along its rows (PS3.3 C.18.6, C.10.5); dicomio.Place takes them there. They are
// kept as 32-bit numbers, some 1e-4 px of a film. Units are codes of UCUM.
//
// # Codes
//
// Codes of DCM, SCT and UCUM are those of PS3.16 (context groups 100, 210, 225, 247,
// 6102, 7202, 7308 and those of the templates), their meanings compared with the
// dictionary that pydicom makes of the standard (bash .ci/peers results). Which item of
// a template holds them, and how they nest, is written from memory of PS3.16. What has
// no public code there has one of the scheme 99LINERWATCH, declared in each report.
//
// A standard error is the property "+/-, range of measurement uncertainty" of a number,
// with a derivation that says it is one; it is no interval.
//
// # What is shown
//
// A State turns and mirrors a film that does not lie upright in its file, and has the greys
// in which the program shows it; dcmtk's dcmp2pgm shows the same of both (.ci/peers results).
//
// # Corrections
//
// A report is never changed. The one of a corrected reading names the one before it
// (Predecessor Documents Sequence). UIDs are made from what an object says, so that the
// same reading is the same object however often it is written. Of a reading that was taken
// back and that none follows, a Rejection (Key Object Selection Document, A.35.4) tells that
// what was written of it holds no longer.
//
//	film, err := result.FilmOf(header, 1)
//	...
//	item, err := result.Report{Film: film, Hip: "H1", Groups: groups, Source: by}.Item()
//	...
//	err = item.Write(w)
package result
