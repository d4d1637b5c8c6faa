// Package dicomio brings films in and out: DICOM, and scanned films in PNG, TIFF, BMP,
// JPEG and JPEG 2000.
//
// A film's pixels are the stored values of the file as an image.Gray16. Where the
// file wants the higher of two values shown darker, by MONOCHROME1 or another of its
// statements, they are mirrored within the range of the bits stored; nothing else
// is changed, so that every stored value can be had back bit for bit. So what is
// bright on a screen is bright in Pixels, and bone is, unless Film.BoneDark.
// Pixel (0, 0) is the top-left one; rows run downwards.
//
// Lengths are in millimetres, always as the pair row spacing (from one row to
// the next), column spacing, in the order of DICOM PS3.3 10.7.1.1. What a file
// says of its scale is kept apart by the attribute that said it, see Geometry.
// Film.Upright and Film.Square bring a film into the form that is looked at and
// measured: in the standard display, with square pixels.
//
// No length, count or type that a file states is believed before it has been
// checked against the bytes that are there: a walk of this package finds the
// header and the pixel data, and github.com/suyashkumar/dicom parses only a
// header rewritten from the few elements that are used. A file that breaks its
// format gives ErrMalformed, one that is in order but of a kind not read here
// gives ErrUnsupported.
//
//	film, err := dicomio.Open("a.dcm")
//	if err != nil {
//		return err // one line that names the file
//	}
//	mm, kind := film.Geometry.Spacing()
//
// References: DICOM PS3.3 (information objects), PS3.5 (data structures and
// encoding), PS3.10 (file format), PS3.15 annex E (de-identification); PNG
// (ISO/IEC 15948); TIFF 6.0; JPEG (ITU-T T.81, T.871).
package dicomio
