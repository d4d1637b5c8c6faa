// Package rle decodes frames of DICOM RLE compression (transfer syntax
// 1.2.840.10008.1.2.5): DICOM PS3.5 Annex G, a byte-wise run-length code after
// TIFF's PackBits.
//
// A frame begins with a header of 64 bytes: the number of segments and their
// offsets. A sample of 8 bits has one segment, one of 16 bits has two, the more
// significant bytes first (G.2). Colour, with three segments or more, is refused
// as unsupported.
//
//	pix, _, err := rle.Decode(frame, codec.Size{Rows: 2140, Columns: 1760, Bits: 16})
//
// The format has no end marker. Instead every segment must hold exactly the
// samples declared; what follows them may only be padding.
package rle
