package jpeg2000

import (
	"encoding/binary"
	"math/bits"

	"linerwatch/dicomio/codec"
)

// packetReader takes packets off a tile's data.
type packetReader struct {
	tile   *tile
	data   []byte
	budget int // visits to code-blocks
}

// newPacketReader allows many visits to a code-block for each of its layers, but
// not as many as a forged number of layers would cost.
func newPacketReader(t *tile, data []byte) *packetReader {
	return &packetReader{tile: t, data: data, budget: 4*t.area.width()*t.area.height() + 1<<20}
}

// finish checks that nothing is left.
func (r *packetReader) finish() error {
	if len(r.data) > 0 {
		return codec.Malformed("codec.after-packets", "%d bytes after the last packet of a tile", "Bytes", len(r.data))
	}
	return nil
}

// packet reads one packet: header (B.10) and body (B.9).
func (r *packetReader) packet(id packetID, layer int) error {
	p := &r.tile.resolutions[id.resolution].precincts[id.precinct]
	if r.tile.coding.sop && r.at(mSOP) {
		if len(r.data) < 6 {
			return errCutPacket()
		}
		r.data = r.data[6:]
	}
	header := &headerBits{src: r.data}
	filled := header.bit() == 1
	if filled {
		for i := range p.bands {
			if err := r.blocks(header, &p.bands[i], layer); err != nil {
				return err
			}
		}
	}
	used, ok := header.close()
	if !ok {
		return errCutPacket()
	}
	r.data = r.data[used:]
	if r.tile.coding.eph {
		if !r.at(mEPH) {
			return codec.Malformed("codec.no-packet-end", "no end-of-packet-header marker")
		}
		r.data = r.data[2:]
	}
	if !filled {
		return nil
	}
	for i := range p.bands {
		if err := r.body(&p.bands[i]); err != nil {
			return err
		}
	}
	return nil
}

func errCutPacket() error {
	return codec.Malformed("codec.packet-cut", "data of a tile end within a packet")
}

func (r *packetReader) at(marker uint16) bool {
	return len(r.data) >= 2 && binary.BigEndian.Uint16(r.data) == marker
}

// blocks reads the header's part on one band.
func (r *packetReader) blocks(header *headerBits, p *bandPrecinct, layer int) error {
	if p.included == nil && p.blocks.width() > 0 {
		p.included = newTagTree(p.blocks.width(), p.blocks.height())
		p.leading = newTagTree(p.blocks.width(), p.blocks.height())
	}
	if r.budget -= p.blocks.width() * p.blocks.height(); r.budget < 0 {
		return codec.Unsupported("codec.many-layers", "so many quality layers of small code-blocks")
	}
	for y := p.blocks.y0; y < p.blocks.y1; y++ {
		for x := p.blocks.x0; x < p.blocks.x1; x++ {
			block := p.band.block(x, y)
			var included bool
			if block.wasIncluded {
				included = header.bit() == 1
			} else {
				included = p.included.below(header, x-p.blocks.x0, y-p.blocks.y0, layer+1)
			}
			if header.short {
				return errCutPacket()
			}
			if !included {
				continue
			}
			if !block.wasIncluded {
				if err := p.firstInclusion(header, block, x, y, r.tile.coding.region); err != nil {
					return err
				}
			}
			if err := block.announce(header, r.tile.coding.modes); err != nil {
				return err
			}
		}
	}
	return nil
}

// firstInclusion reads the number of leading bit-planes that are zero (B.10.5).
func (p *bandPrecinct) firstInclusion(header *headerBits, block *codeBlock, x, y, region int) error {
	zeros, most := 0, p.band.planes+region
	for !p.leading.below(header, x-p.blocks.x0, y-p.blocks.y0, zeros+1) {
		if zeros++; zeros > most || header.short {
			return codec.Malformed("codec.empty-planes", "more empty bit-planes than there are")
		}
	}
	planes := most - zeros
	if planes-region > maxPlanes || p.band.planes > maxPlanes && region > 0 {
		return codec.Unsupported("codec.planes", "%d bit-planes", "N", planes)
	}
	block.planes, block.lengthBits, block.wasIncluded = uint8(planes), 3, true
	return nil
}

// announce reads how many passes and bytes the packet brings (B.10.6, B.10.7).
func (b *codeBlock) announce(header *headerBits, modes mode) error {
	passes := header.passes()
	if modes&highThroughput != 0 {
		return b.announceHT(header, passes)
	}
	if int(b.passes)+passes > max(0, 3*int(b.planes)-2) {
		return codec.Malformed("codec.passes", "%d coding passes in %d bit-planes", "N", int(b.passes)+passes, "Planes", b.planes)
	}
	if err := b.lengthen(header); err != nil {
		return err
	}
	for passes > 0 {
		last := len(b.segments) - 1
		if last < 0 || b.segments[last].passes == b.segments[last].most {
			b.segments = append(b.segments, segment{most: b.passesUntilTermination(modes)})
			last++
		}
		s := &b.segments[last]
		n := min(passes, s.most-s.passes)
		s.pending = header.bits(int(b.lengthBits) + bits.Len(uint(n)) - 1)
		s.passes += n
		b.passes += uint8(n)
		passes -= n
	}
	if header.short {
		return errCutPacket()
	}
	return nil
}

// lengthen reads by how much Lblock grows (B.10.7.1).
func (b *codeBlock) lengthen(header *headerBits) error {
	for header.bit() == 1 {
		if b.lengthBits++; b.lengthBits > 31 || header.short {
			return codec.Malformed("codec.block-length", "length of a code-block")
		}
	}
	return nil
}

// announceHT is announce for high-throughput code-blocks (T.814 B.3): one segment
// for the cleanup pass and one for the two that refine it. Passes in threes before
// the first stand for bit-planes that are not coded.
func (b *codeBlock) announceHT(header *headerBits, passes int) error {
	if err := b.lengthen(header); err != nil {
		return err
	}
	if len(b.segments) == 0 {
		skipped := (passes - 1) / 3
		if skipped >= int(b.planes) {
			return codec.Malformed("codec.passes", "%d coding passes in %d bit-planes", "N", passes, "Planes", b.planes)
		}
		first := segment{passes: 1, most: 1, pending: header.bits(int(b.lengthBits) + bits.Len(uint(3*skipped+1)) - 1)}
		b.segments = append(b.segments, first)
		b.planes -= uint8(skipped)
		passes -= 3*skipped + 1
	}
	if passes > 0 {
		if len(b.segments) == 1 {
			b.segments = append(b.segments, segment{most: 2})
		}
		s := &b.segments[1]
		if s.passes+passes > s.most {
			return codec.Unsupported("codec.fast-sets", "more than one set of passes in a high-throughput code-block")
		}
		s.pending = header.bits(int(b.lengthBits) + bits.Len(uint(passes)) - 1)
		s.passes += passes
	}
	if header.short {
		return errCutPacket()
	}
	return nil
}

// passesUntilTermination tells how many passes a new segment can hold (D.4, D.6).
func (b *codeBlock) passesUntilTermination(modes mode) int {
	const unbounded = 3 * (maxPlanes + maxRegion)
	switch {
	case modes&terminateAll != 0:
		return 1
	case modes&bypass == 0:
		return unbounded
	case b.passes == 0: // up to the cleanup of the fourth plane
		return 10
	case (b.passes-10)%3 == 0: // two raw passes
		return 2
	}
	return 1 // a cleanup pass
}

// body takes the announced bytes.
func (r *packetReader) body(p *bandPrecinct) error {
	for y := p.blocks.y0; y < p.blocks.y1; y++ {
		for x := p.blocks.x0; x < p.blocks.x1; x++ {
			segments := p.band.block(x, y).segments
			for i := range segments {
				s := &segments[i]
				if s.pending > len(r.data) {
					return errCutPacket()
				}
				part := r.data[:s.pending:s.pending]
				if len(s.data) == 0 {
					s.data = part
				} else {
					s.data = append(s.data, part...)
				}
				r.data, s.pending = r.data[s.pending:], 0
			}
		}
	}
	return nil
}

// headerBits reads a packet header's bits, after a byte FF seven to the byte (B.10.1).
type headerBits struct {
	src   []byte
	pos   int
	left  int // bits of the current byte
	short bool
}

func (h *headerBits) bit() int {
	if h.left == 0 {
		if h.pos >= len(h.src) {
			h.short = true
			return 0
		}
		h.left = 8
		if h.pos > 0 && h.src[h.pos-1] == 0xFF {
			h.left = 7
		}
		h.pos++
	}
	h.left--
	return int(h.src[h.pos-1]>>h.left) & 1
}

func (h *headerBits) bits(n int) (v int) {
	for range n {
		v = v<<1 | h.bit()
	}
	return v
}

// passes reads a number of coding passes (Table B.4).
func (h *headerBits) passes() int {
	if h.bit() == 0 {
		return 1
	}
	if h.bit() == 0 {
		return 2
	}
	if n := h.bits(2); n < 3 {
		return 3 + n
	}
	if n := h.bits(5); n < 31 {
		return 6 + n
	}
	return 37 + h.bits(7)
}

// close gives the number of bytes used, with the byte stuffed after a last FF.
func (h *headerBits) close() (used int, ok bool) {
	if h.pos > 0 && h.pos <= len(h.src) && h.src[h.pos-1] == 0xFF {
		h.pos++
	}
	return h.pos, !h.short && h.pos <= len(h.src)
}
