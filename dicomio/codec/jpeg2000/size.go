package jpeg2000

import (
	"encoding/binary"

	"linerwatch/dicomio/codec"
)

// rect is a half-open rectangle on one of the grids of Annex B.
type rect struct{ x0, y0, x1, y1 int }

func (r rect) width() int  { return max(0, r.x1-r.x0) }
func (r rect) height() int { return max(0, r.y1-r.y0) }

func (r rect) intersect(s rect) rect {
	return rect{max(r.x0, s.x0), max(r.y0, s.y0), min(r.x1, s.x1), min(r.y1, s.y1)}
}

// reduce is the rectangle at a resolution 2^n times coarser, whose samples lie at
// (x, y) 2^n + offset (B.5).
func (r rect) reduce(n, xOffset, yOffset int) rect {
	return rect{ceilShift(r.x0-xOffset, n), ceilShift(r.y0-yOffset, n), ceilShift(r.x1-xOffset, n), ceilShift(r.y1-yOffset, n)}
}

// ceilShift is the ceiling of v / 2^n.
func ceilShift(v, n int) int { return -(-v >> n) }

// imageSize is the SIZ segment (A.5.1).
type imageSize struct {
	image  rect // on the reference grid
	tile0  rect // the first tile
	bits   int
	signed bool
}

// readSize passes over the capabilities Rsiz: files are seen in which they are
// garbage, and what needs them has marker segments of its own.
func readSize(body []byte, want codec.Size) (imageSize, error) {
	if len(body) < 36 {
		return imageSize{}, codec.Malformed("codec.size-segment", "size segment of %d bytes", "Bytes", len(body))
	}
	components := int(binary.BigEndian.Uint16(body[34:]))
	if components == 0 || len(body) != 36+3*components {
		return imageSize{}, codec.Malformed("codec.size-components", "size segment of %d bytes for %d components", "Bytes", len(body), "N", components)
	}
	if components != 1 {
		return imageSize{}, codec.Unsupported("codec.components", "%d components", "N", components)
	}
	var v [8]int
	for i := range v {
		if v[i] = int(binary.BigEndian.Uint32(body[2+4*i:])); v[i] >= 1<<31 {
			return imageSize{}, codec.Malformed("codec.grid", "reference grid of %d", "N", v[i])
		}
	}
	s := imageSize{
		image: rect{v[2], v[3], v[0], v[1]},
		tile0: rect{v[6], v[7], v[6] + v[4], v[7] + v[5]},
		bits:  int(body[36]&0x7F) + 1, signed: body[36]&0x80 != 0,
	}
	switch {
	case body[37] != 1 || body[38] != 1:
		return imageSize{}, codec.Unsupported("codec.subsampled", "component subsampled by %d x %d", "X", body[37], "Y", body[38])
	case s.image.width() != want.Columns || s.image.height() != want.Rows:
		return imageSize{}, codec.Malformed("codec.other-size", "%d x %d pixels where %d x %d are declared", "Columns", s.image.width(), "Rows", s.image.height(), "WantColumns", want.Columns, "WantRows", want.Rows)
	case s.bits > 38:
		return imageSize{}, codec.Malformed("codec.precision", "precision of %d bits", "Bits", s.bits)
	case s.bits > want.Bits:
		return imageSize{}, codec.Malformed("codec.other-precision", "precision of %d bits where %d are declared", "Bits", s.bits, "Want", want.Bits)
	case s.tile0.x0 > s.image.x0 || s.tile0.y0 > s.image.y0 || s.tile0.x1 <= s.image.x0 || s.tile0.y1 <= s.image.y0: // B.3
		return imageSize{}, codec.Malformed("codec.tile-outside", "first tile lies outside the image")
	case s.tilesAcross()*s.tilesDown() > 65535:
		return imageSize{}, codec.Malformed("codec.tiles", "%d x %d tiles", "Across", s.tilesAcross(), "Down", s.tilesDown())
	}
	return s, nil
}

func (s imageSize) tilesAcross() int {
	return (s.image.x1 - s.tile0.x0 + s.tile0.width() - 1) / s.tile0.width()
}

func (s imageSize) tilesDown() int {
	return (s.image.y1 - s.tile0.y0 + s.tile0.height() - 1) / s.tile0.height()
}

func (s imageSize) tiles() int { return s.tilesAcross() * s.tilesDown() }

// tile is the part of the image that a tile covers (B.3).
func (s imageSize) tile(t int) rect {
	x, y := t%s.tilesAcross()*s.tile0.width(), t/s.tilesAcross()*s.tile0.height()
	return rect{s.tile0.x0 + x, s.tile0.y0 + y, s.tile0.x1 + x, s.tile0.y1 + y}.intersect(s.image)
}
