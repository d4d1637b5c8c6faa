package jpeg2000

import (
	"encoding/binary"
	"fmt"

	"linerwatch/dicomio/codec"
)

// Marker codes (T.800 Table A.2).
const (
	mSOC = 0xFF4F // start of codestream
	mCAP = 0xFF50 // extended capabilities
	mSIZ = 0xFF51 // image and tile size
	mCOD = 0xFF52 // coding style default
	mCOC = 0xFF53 // coding style component
	mTLM = 0xFF55 // tile-part lengths
	mPLM = 0xFF57 // packet length, main header
	mPLT = 0xFF58 // packet length, tile-part header
	mCPF = 0xFF59 // corresponding profile
	mQCD = 0xFF5C // quantization default
	mQCC = 0xFF5D // quantization component
	mRGN = 0xFF5E // region of interest
	mPOC = 0xFF5F // progression order change
	mPPM = 0xFF60 // packed packet headers, main header
	mPPT = 0xFF61 // packed packet headers, tile-part header
	mCRG = 0xFF63 // component registration
	mCOM = 0xFF64 // comment
	mSOT = 0xFF90 // start of tile-part
	mSOP = 0xFF91 // start of packet
	mEPH = 0xFF92 // end of packet header
	mSOD = 0xFF93 // start of data
	mEOC = 0xFFD9 // end of codestream
)

// Decode returns the samples of one frame, row by row. Signed samples are
// two's complement, extended to 16 bits.
func Decode(data []byte, want codec.Size) (pix []uint16, info codec.Info, err error) {
	if pix, info, err = decode(data, want); err != nil {
		return nil, codec.Info{}, fmt.Errorf("jpeg2000: %w", err)
	}
	return pix, info, nil
}

func decode(data []byte, want codec.Size) ([]uint16, codec.Info, error) {
	if err := want.Check(); err != nil {
		return nil, codec.Info{}, err
	}
	if err := want.CheckData(len(data)); err != nil {
		return nil, codec.Info{}, err
	}
	data, err := unwrap(data)
	if err != nil {
		return nil, codec.Info{}, err
	}
	h, err := readHeaders(data, want)
	if err != nil {
		return nil, codec.Info{}, err
	}
	info := codec.Info{Bits: h.size.bits, Signed: h.size.signed}
	for t := range h.tiles {
		if h.tiles[t].parts == 0 {
			return nil, codec.Info{}, codec.Malformed("codec.no-tile", "tile %d of %d is missing", "N", t+1, "Of", len(h.tiles))
		}
		info.Lossy = info.Lossy || !h.tiles[t].coding.reversible
	}
	pool := newPool()
	defer pool.close()
	pix := codec.Room[uint16](want.Pixels())
	for t := range h.tiles {
		if err := h.decodeTile(pool, t, pix); err != nil {
			return nil, codec.Info{}, err
		}
		if err := pool.failed(); err != nil {
			return nil, codec.Info{}, err
		}
		h.tiles[t].data = nil
	}
	return pix, info, nil
}

// headers is what the main header and the tile-part headers say, and where the
// packets of each tile are.
type headers struct {
	data  []byte
	pos   int
	want  codec.Size
	size  imageSize
	main  coding
	tiles []tilePackets

	inTiles bool // the main header is over
}

// tilePackets gathers the tile-parts of one tile.
type tilePackets struct {
	coding *coding
	parts  int
	data   [][]byte
}

// readHeaders walks the codestream (A.2) up to the end marker.
func readHeaders(data []byte, want codec.Size) (*headers, error) {
	h := &headers{data: data, want: want}
	if len(data) < 2 || binary.BigEndian.Uint16(data) != mSOC {
		return nil, codec.Malformed("codec.no-codestream-start", "no start-of-codestream marker")
	}
	h.pos = 2
	for {
		for h.inTiles && h.pos < len(data) && data[h.pos] == 0 {
			h.pos++ // put after a tile-part by some encoders, to make the length even
		}
		marker, body, err := h.segment()
		switch {
		case err != nil:
			return nil, err
		case marker == mEOC:
			if h.tiles == nil {
				return nil, codec.Malformed("codec.header-end", "codestream ends in its header")
			}
			return h, nil
		case marker == mSOT:
			h.inTiles = true
			err = h.tilePart(body)
		case marker == mSIZ && h.tiles == nil:
			if h.size, err = readSize(body, want); err == nil {
				h.tiles = make([]tilePackets, h.size.tiles())
			}
		case h.inTiles:
			return nil, codec.Malformed("codec.between-marker", "marker %s between tile-parts", "Marker", codec.Hex(marker, 4))
		default:
			err = h.main.segment(marker, body)
		}
		if err != nil {
			return nil, err
		}
	}
}

// segment reads a marker and, but for EOC and SOD, its segment.
func (h *headers) segment() (marker int, body []byte, err error) {
	rest := h.data[h.pos:]
	if len(rest) < 2 {
		return 0, nil, codec.Malformed("codec.no-codestream-end", "data end before the end-of-codestream marker")
	}
	marker = int(binary.BigEndian.Uint16(rest))
	if marker == mEOC || marker == mSOD {
		h.pos += 2
		return marker, nil, nil
	}
	if marker < mSOC {
		return 0, nil, codec.Malformed("codec.no-marker", "byte %d: no marker where one is due", "Byte", h.pos)
	}
	n := 0
	if len(rest) >= 4 {
		n = int(binary.BigEndian.Uint16(rest[2:]))
	}
	if n < 2 || n > len(rest)-2 {
		return 0, nil, codec.Malformed("codec.codestream-segment", "segment %s of %d bytes runs past the end", "Marker", codec.Hex(marker, 4), "Bytes", n)
	}
	h.pos += 2 + n
	return marker, rest[4 : 2+n], nil
}

// tilePart reads a tile-part after its SOT marker (A.4.2).
func (h *headers) tilePart(sot []byte) error {
	if len(sot) != 8 {
		return codec.Malformed("codec.part-header", "tile-part header of %d bytes", "Bytes", len(sot))
	}
	start := h.pos - 12
	index, length := int(binary.BigEndian.Uint16(sot)), int(binary.BigEndian.Uint32(sot[2:]))
	if index >= len(h.tiles) {
		return codec.Malformed("codec.tile", "tile %d of %d", "N", index+1, "Of", len(h.tiles))
	}
	if !h.main.complete() {
		return codec.Malformed("codec.early-tile", "tile before the coding style and quantization")
	}
	end := start + length
	if length == 0 { // up to the end marker
		if end = endOfCodestream(h.data); end < 0 {
			return codec.Malformed("codec.no-codestream-end", "data end before the end-of-codestream marker")
		}
	}
	if end > len(h.data) || end < h.pos {
		return codec.Malformed("codec.part-long", "tile-part of %d bytes runs past the end", "Bytes", length)
	}
	tile := &h.tiles[index]
	if int(sot[6]) != tile.parts&0xFF {
		return codec.Malformed("codec.part-order", "tile %d: part %d where part %d is due", "Tile", index+1, "Part", sot[6], "Due", tile.parts)
	}
	if tile.parts == 0 {
		c := h.main
		c.ownStyle, c.ownSteps = false, false // a tile's COD stands before the main header's COC (A.6)
		tile.coding = &c
	}
	tile.parts++
	for {
		marker, body, err := h.segment()
		switch {
		case err != nil:
			return err
		case h.pos > end:
			return codec.Malformed("codec.part-end", "tile-part ends in its header")
		case marker == mSOD:
			tile.data = append(tile.data, h.data[h.pos:end])
			h.pos = end
			return nil
		case marker == mSIZ || marker == mSOT || marker == mEOC:
			return codec.Malformed("codec.part-marker", "marker %s in a tile-part header", "Marker", codec.Hex(marker, 4))
		}
		if err := tile.coding.segment(marker, body); err != nil {
			return err
		}
	}
}

// endOfCodestream finds the end marker before padding, or gives -1.
func endOfCodestream(data []byte) int {
	n := len(data)
	for n > 0 && data[n-1] == 0 {
		n--
	}
	if n < 2 || binary.BigEndian.Uint16(data[n-2:]) != mEOC {
		return -1
	}
	return n - 2
}
