// Package lossless decodes JPEG lossless images, the most common compression of
// radiographs: ITU-T T.81 Annex H, process 14 with Huffman coding, all seven
// predictors, point transform and restart intervals (transfer syntaxes
// 1.2.840.10008.1.2.4.57, and .4.70 with predictor 1).
//
//	pix, info, err := lossless.Decode(frame, codec.Size{Rows: 2140, Columns: 1760, Bits: 16})
//
// Precisions of 2 to 16 bits are read. info.Bits is the codestream's precision,
// which may be larger than the file's bits stored. A point transform, which
// drops low bits, makes the result lossy. DCT, arithmetic and hierarchical
// processes and several components are refused as unsupported.
package lossless
