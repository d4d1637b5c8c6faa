// Package jpegls decodes JPEG-LS images of one component: ITU-T T.87 | ISO/IEC
// 14495-1, lossless and near-lossless (transfer syntaxes 1.2.840.10008.1.2.4.80
// and .81), of 2 to 16 bits, with default or given coding parameters.
//
//	pix, info, err := jpegls.Decode(frame, codec.Size{Rows: 2140, Columns: 1760, Bits: 16})
//
// info.Lossy tells a near-lossless image, whose samples may each differ from the
// original by up to the NEAR of its scan. Mapping tables, oversize dimensions,
// point transforms, restart intervals and several components are refused as
// unsupported.
//
// Names in the code follow the standard: Ra, Rb, Rc and Rd are the samples to the
// left, above, above left and above right; A, B, C and N a context's sum of error
// magnitudes, bias, correction and count (Annex A).
package jpegls
