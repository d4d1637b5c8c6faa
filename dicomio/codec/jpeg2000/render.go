package jpeg2000

import (
	"math"
	"slices"
)

// decodeTile decodes tile t into its place in the image.
func (h *headers) decodeTile(p *pool, t int, pix []uint16) error {
	packets := &h.tiles[t]
	tile, err := newTile(h.size.tile(t), packets.coding, h.size.bits)
	if err != nil {
		return err
	}
	data := packets.data[0]
	if len(packets.data) > 1 {
		data = slices.Concat(packets.data...)
	}
	if err := tile.readPackets(data); err != nil {
		return err
	}
	low, high, shift := int32(0), int32(1)<<h.size.bits-1, int32(1)<<(h.size.bits-1)
	if h.size.signed { // no level shift (G.1)
		low, high, shift = -shift, shift-1, 0
	}
	if tile.coding.reversible {
		source := tileRows(p, tile, &reversible)
		h.store(tile, pix, func(to []uint16) {
			for x, v := range source.row() {
				to[x] = uint16(max(low, min(v+shift, high)))
			}
		})
		return nil
	}
	source := tileRows(p, tile, &irreversible)
	bound := float32(int32(1) << 20) // keeps the conversion within int32
	h.store(tile, pix, func(to []uint16) {
		for x, v := range source.row() {
			v := int32(math.RoundToEven(float64(max(-bound, min(v, bound)))))
			to[x] = uint16(max(low, min(v+shift, high)))
		}
	})
	return nil
}

// store fills the tile's rows of the image.
func (h *headers) store(t *tile, pix []uint16, fill func(to []uint16)) {
	for y := t.area.y0; y < t.area.y1; y++ {
		at := (y-h.size.image.y0)*h.want.Columns + t.area.x0 - h.size.image.x0
		fill(pix[at : at+t.area.width()])
	}
}

// tileRows sets up the synthesis of a tile, coarsest level first.
func tileRows[T sample](p *pool, t *tile, w *transform[T]) rows[T] {
	c := t.coding
	var source rows[T] = newBandRows[T](p, t.resolutions[0].bands[0], c)
	for _, r := range t.resolutions[1:] {
		source = newLevel(w, r.area, source,
			newBandRows[T](p, r.bands[0], c), newBandRows[T](p, r.bands[1], c), newBandRows[T](p, r.bands[2], c))
	}
	return source
}
