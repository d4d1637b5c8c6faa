package dicomio

import (
	"bytes"
	"image"
	"io"
	"math"
)

// The TIFF 6.0 fields that are read, and values of them.
const (
	tiffSubfile      = 254
	tiffWidth        = 256
	tiffHeight       = 257
	tiffBits         = 258
	tiffCompression  = 259
	tiffPhotometric  = 262
	tiffFillOrder    = 266
	tiffStripOffsets = 273
	tiffOrientation  = 274
	tiffSamples      = 277
	tiffRowsPerStrip = 278
	tiffStripCounts  = 279
	tiffXResolution  = 282
	tiffYResolution  = 283
	tiffPlanes       = 284
	tiffUnit         = 296
	tiffPredictor    = 317
	tiffColorMap     = 320
	tiffTileWidth    = 322
	tiffTileHeight   = 323
	tiffTileOffsets  = 324
	tiffTileCounts   = 325
	tiffExtra        = 338
	tiffSampleFormat = 339
	tiffJPEGTables   = 347

	tiffSmaller, tiffMask = 1, 4 // bits of tiffSubfile

	tiffWhiteIsZero = 0
	tiffBlackIsZero = 1
	tiffRGB         = 2
	tiffPalette     = 3
	tiffYCbCr       = 6

	tiffUncompressed = 1
	tiffLZW          = 5
	tiffJPEG         = 7
	tiffDeflate      = 8
	tiffPackBits     = 32773
	tiffOldDeflate   = 32946

	tiffMaxExpansion  = 1400 // of LZW: runs of 4096 bytes from 12 bits, and a little
	tiffCentimetre    = 3
	tiffInch          = 2
	millimetresInInch = 25.4
)

// tiffPicture is how the pixels of a page stand in the file.
type tiffPicture struct {
	*directory
	width, height int
	bits, samples int // of a sample, and samples of a pixel
	photometric   int64
	compression   int64
}

// decodeTIFF makes a film of one picture, counted from 1, of a TIFF.
func decodeTIFF(b []byte, page int) (*Film, error) {
	f, p, err := readTIFF(bytes.NewReader(b), int64(len(b)), page)
	if err != nil {
		return nil, err
	}
	img, coloured, err := p.decode(b)
	if err != nil {
		return nil, err
	}
	if coloured {
		f.warnGrey()
	}
	f.Pixels = orient(img, f.turned)
	return f, nil
}

// readTIFF reads what a TIFF says of one of its pictures.
func readTIFF(r io.ReaderAt, size int64, page int) (*Film, *tiffPicture, error) {
	all, err := pages(r, size)
	if err != nil {
		return nil, nil, err
	}
	if page < 1 || page > len(all) {
		return nil, nil, refused("read.no-frame", "no frame %d of %d", "Frame", page, "Frames", len(all))
	}
	d := all[page-1]
	p := &tiffPicture{directory: d, width: int(min(d.number(tiffWidth, 0), math.MaxInt32)), height: int(min(d.number(tiffHeight, 0), math.MaxInt32)),
		bits: int(d.number(tiffBits, 1)), samples: int(d.number(tiffSamples, 1)),
		photometric: d.number(tiffPhotometric, tiffBlackIsZero), compression: d.number(tiffCompression, tiffUncompressed)}
	if err := p.check(size); err != nil {
		return nil, nil, err
	}
	f := &Film{Format: "TIFF", Rows: p.height, Columns: p.width, Frames: len(all), Frame: page, Bits: p.bits, Photometric: "MONOCHROME2"}
	if p.photometric == tiffWhiteIsZero {
		f.Photometric = "MONOCHROME1"
	}
	f.Lossy = p.compression == tiffJPEG
	f.Geometry.Scan = d.spacing()
	f.orientBy(d.number(tiffOrientation, 1))
	f.weigh()
	f.warnAspect()
	return f, p, nil
}

// check refuses what is not read, and sizes that the file cannot hold.
func (p *tiffPicture) check(size int64) error {
	jpeg := p.compression == tiffJPEG
	plain := p.photometric == tiffWhiteIsZero || p.photometric == tiffBlackIsZero
	switch {
	case plain && p.samples == 1, p.photometric == tiffRGB && p.samples == 3, p.photometric == tiffPalette && p.samples == 1 && p.bits == 8,
		p.photometric == tiffYCbCr && jpeg && p.samples == 3:
	default:
		return unsupported("read.tiff-colour", "colour or transparent TIFF; save it as plain grey of 8 or 16 bits")
	}
	switch {
	case p.bits != 8 && p.bits != 16:
		return unsupported("read.tiff-bits", "TIFF of %d bits; 8 and 16 are read", "Bits", p.bits)
	case p.number(tiffFillOrder, 1) != 1:
		return unsupported("read.tiff-reversed", "TIFF with reversed bits (FillOrder 2); save it anew")
	case p.number(tiffSampleFormat, 1) != 1:
		return unsupported("read.tiff-numbers", "TIFF of signed or real numbers; save it as plain grey of 8 or 16 bits")
	case p.samples > 1 && p.number(tiffPlanes, 1) != 1 || jpeg && p.bits != 8:
		return unsupported("read.tiff-colour", "colour or transparent TIFF; save it as plain grey of 8 or 16 bits")
	}
	expansion := tiffMaxExpansion
	switch p.compression {
	case tiffUncompressed:
		expansion = 1
	case tiffLZW, tiffDeflate, tiffOldDeflate, tiffPackBits, tiffJPEG:
	default:
		return unsupported("read.tiff-compression", "TIFF of compression %d; save it uncompressed", "N", p.compression)
	}
	return plausible(int64(p.width), int64(p.height), p.samples*p.bits/8, int(size), expansion)
}

// blocks are the strips or tiles of a picture.
type blocks struct {
	w, h            int // of one
	across          int
	offsets, counts []int64
}

func (p *tiffPicture) blocks() (k blocks, err error) {
	k = blocks{w: p.width, h: int(min(p.number(tiffRowsPerStrip, int64(p.height)), int64(p.height))), across: 1,
		offsets: p.numbers(tiffStripOffsets), counts: p.numbers(tiffStripCounts)}
	if tw := p.number(tiffTileWidth, 0); tw != 0 {
		k.w, k.h = int(min(tw, math.MaxInt32)), int(min(p.number(tiffTileHeight, 0), math.MaxInt32))
		k.offsets, k.counts = p.numbers(tiffTileOffsets), p.numbers(tiffTileCounts)
	}
	if k.h == 0 {
		k.h = p.height
	}
	if k.w < 1 || k.h < 1 || int64(k.w)*int64(k.h) > maxPixels {
		return k, malformed("read.size", "%d rows x %d columns", "Rows", k.h, "Columns", k.w)
	}
	k.across = (p.width + k.w - 1) / k.w
	if n := k.across * ((p.height + k.h - 1) / k.h); len(k.offsets) < n || len(k.counts) < n {
		return k, malformed("read.truncated", "truncated %s", "Format", "TIFF")
	}
	return k, nil
}

// decode returns the picture as it lies in the file b, bone bright; coloured says that it was
// one of colours, all of them grey.
func (p *tiffPicture) decode(b []byte) (out *image.Gray16, coloured bool, err error) {
	k, err := p.blocks()
	if err != nil {
		return nil, false, err
	}
	value, err := p.values()
	if err != nil {
		return nil, false, err
	}
	out = image.NewGray16(image.Rect(0, 0, p.width, p.height))
	for y := 0; y < p.height; y += k.h {
		for x := range k.across {
			i := y/k.h*k.across + x
			from, n := k.offsets[i], k.counts[i]
			if from < 0 || n < 0 || from > int64(len(b))-n {
				return nil, false, malformed("read.truncated", "truncated %s", "Format", "TIFF")
			}
			h := k.h
			if p.number(tiffTileWidth, 0) == 0 {
				h = min(h, p.height-y)
			}
			at := image.Rect(x*k.w, y, (x+1)*k.w, y+h)
			if p.compression == tiffJPEG {
				err = p.jpegBlock(out, at, b[from:from+n])
			} else {
				err = p.block(out, at, b[from:from+n], value)
			}
			if err != nil {
				return nil, false, err
			}
		}
	}
	return out, p.samples > 1 || p.photometric == tiffPalette, nil
}
