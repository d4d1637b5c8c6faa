// Package jpeg decodes DCT images of one component: ITU-T T.81 baseline with 8
// bits (process 1, transfer syntax 1.2.840.10008.1.2.4.50), extended with 8 or 12
// bits (processes 2 and 4, .4.51), which the standard library's image/jpeg does not
// read, and progressive ones (Annex G, processes 6, 8, 10 and 12, the retired .4.53
// and .4.55), which are seen under .4.50 as well.
//
//	pix, info, err := jpeg.Decode(frame, codec.Size{Rows: 2140, Columns: 1760, Bits: 16})
//
// The coding is lossy: info.Lossy is always set. The standard fixes the accuracy
// of the inverse transform, not its every bit (T.81 A.3.3); this one is the
// 13-bit fixed-point form of Loeffler, Ligtenberg and Moschytz (ICASSP 1989,
// 988-991) with the intermediate roundings of the Independent JPEG Group's
// accurate integer method, so that results equal those of decoders built on it.
//
// Arithmetic, lossless and hierarchical processes and several components are
// refused as unsupported.
package jpeg
