package dicomio

import (
	"bytes"
	"compress/zlib"
	"io"

	"golang.org/x/image/tiff/lzw"
)

// TIFF fields and values that say how a picture is cut into compressed blocks.
const (
	tiffStripOffsets = 273
	tiffRowsPerStrip = 278
	tiffStripCounts  = 279
	tiffTileWidth    = 322
	tiffTileHeight   = 323
	tiffTileOffsets  = 324
	tiffTileCounts   = 325

	tiffLZW        = 5
	tiffDeflate    = 8
	tiffPackBits   = 32773
	tiffOldDeflate = 32946
)

// checkBlocks unpacks every compressed strip or tile, without keeping it, and
// refuses a picture of which one holds more than its pixels: the decoder would
// take what there is. Faults of other kinds are the decoder's to find.
func checkBlocks(b []byte, f *Film) error {
	d, err := readDirectory(b, len(b))
	if err != nil {
		return err
	}
	w, h := int64(f.Columns), int64(d.number(tiffRowsPerStrip, uint32(f.Rows)))
	if h == 0 || h > int64(f.Rows) {
		h = int64(f.Rows)
	}
	offsets, counts := d.numbers(tiffStripOffsets), d.numbers(tiffStripCounts)
	if tw := d.number(tiffTileWidth, 0); tw != 0 {
		w, h = int64(tw), int64(d.number(tiffTileHeight, 0))
		offsets, counts = d.numbers(tiffTileOffsets), d.numbers(tiffTileCounts)
	}
	most := w * h * int64(f.Bits/8)
	for i := range min(len(offsets), len(counts)) {
		from, n := offsets[i], counts[i]
		if from+n > int64(len(b)) {
			return malformed("read.truncated", "truncated %s", "Format", "TIFF")
		}
		if unpacked(d.number(tiffCompression, tiffUncompressed), b[from:from+n], most+1) > most {
			return malformed("read.tiff-block", "TIFF with a block of more than its %d x %d pixels", "Width", w, "Height", h)
		}
	}
	return nil
}

// unpacked counts the bytes that a compressed block gives, up to most.
func unpacked(compression uint32, b []byte, most int64) (n int64) {
	var r io.ReadCloser
	switch compression {
	case tiffLZW:
		r = lzw.NewReader(bytes.NewReader(b), lzw.MSB, 8)
	case tiffDeflate, tiffOldDeflate:
		z, err := zlib.NewReader(bytes.NewReader(b))
		if err != nil {
			return 0
		}
		r = z
	case tiffPackBits:
		return packBits(b)
	default:
		return 0
	}
	defer r.Close()                                     // only read from
	n, _ = io.Copy(io.Discard, io.LimitReader(r, most)) // its faults are found again
	return n
}

// packBits counts what runs and literals give (TIFF 6.0 section 9).
func packBits(b []byte) (n int64) {
	for len(b) > 0 {
		switch c := int(int8(b[0])); {
		case c >= 0:
			n += int64(c) + 1
			b = b[min(c+2, len(b)):]
		case c == -128:
			b = b[1:]
		default:
			n += int64(1 - c)
			b = b[min(2, len(b)):]
		}
	}
	return n
}
