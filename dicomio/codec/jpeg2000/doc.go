// Package jpeg2000 decodes JPEG 2000 codestreams of one component: ITU-T T.800 |
// ISO/IEC 15444-1 (transfer syntaxes 1.2.840.10008.1.2.4.90 and .91), and ITU-T T.814
// | ISO/IEC 15444-15, high-throughput code-blocks (.201 to .203), reversible and
// irreversible, of up to 16 bits, signed or not.
//
//	pix, info, err := jpeg2000.Decode(frame, codec.Size{Rows: 2140, Columns: 1760, Bits: 16})
//
// Tiles, tile-parts, image offsets, all five progressions, quality layers,
// precincts, code-blocks of every size and mode (bypass, reset, termination,
// vertically causal contexts, predictable termination, segmentation symbols),
// regions of interest, packet markers and high-throughput code-blocks are read. Code-blocks
// of both kinds in one tile, more than one set of high-throughput passes, progression order
// changes, packed packet headers and several components are refused as unsupported.
//
// info.Lossy says whether the irreversible transform was used. A reversible
// codestream may still hold fewer bit-planes than its original had; it does not
// tell.
//
// Decoding goes in steps. The headers (Annex A) give each tile's resolutions,
// bands, precincts and code-blocks (Annex B). Packet headers assign the bytes to
// code-blocks. Code-blocks are decoded (Annexes C and D, T.814 clause 7) on all processors, a
// stripe at a time, ahead of the wavelet synthesis (Annex F), which is drawn row
// by row through all levels, so that no more than a few stripes of coefficients
// are ever held beside the samples.
//
// In the irreversible path all arithmetic is in float32 and in the order of
// Annex F, the last rounding being to even, as common decoders have it.
package jpeg2000
