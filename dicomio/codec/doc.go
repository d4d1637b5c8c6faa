// Package codec holds what the decoders of compressed radiograph pixels in its
// subpackages have in common: the size the caller declares, what a codestream
// says of itself, and the two kinds of fault.
//
//	rle       DICOM RLE, PS3.5 Annex G                          1.2.840.10008.1.2.5
//	jpeg      JPEG with DCT, ITU-T T.81                         .4.50, .4.51, .4.53 and .4.55
//	lossless  JPEG lossless, ITU-T T.81 Annex H                 .4.57 and .4.70
//	jpegls    JPEG-LS lossless and near-lossless, ITU-T T.87    .4.80 and .4.81
//	jpeg2000  JPEG 2000 Parts 1 and 15, ITU-T T.800 and T.814   .4.90, .4.91 and .4.201 to .4.203
//
// Every subpackage has one entry point of the same form:
//
//	pix, info, err := lossless.Decode(data, codec.Size{Rows: 3000, Columns: 3000, Bits: 16})
//
// data is one frame's codestream, its fragments joined; a trailing pad byte is
// allowed. pix holds Rows x Columns samples row by row. The decoders read one
// component of at most 16 bits. They never allocate for a size other than the
// declared one, refuse a codestream that contradicts it, and require the
// codestream's end marker, since a cut film must not pass for a whole one.
//
// Errors are one line, begin with the subpackage's name and wrap ErrMalformed
// or ErrUnsupported.
package codec
