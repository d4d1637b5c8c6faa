// Package t81 reads what the JPEG family of codestreams has in common: marker
// segments (ITU-T T.81 Annex B), Huffman tables (Annex C and F.2.2.3) and
// entropy-coded bits with their stuffed zero bytes (F.2.2.5). Its errors carry
// no prefix; the decoders add their own.
package t81
