package jpeg2000

import (
	"math"

	"linerwatch/dicomio/codec"
)

// tile is one tile in decoding.
type tile struct {
	area        rect
	coding      *coding
	resolutions []resolution
}

// resolution is one level of detail of a tile (B.5) with the bands that it adds.
type resolution struct {
	area      rect
	bands     []*band
	precincts []precinct
	across    int // precincts in a row
}

// band is a sub-band and the grid of its code-blocks (B.7).
type band struct {
	area        rect
	orientation int // 0 LL, 1 HL, 2 LH, 3 HH
	planes      int // Mb, magnitude bit-planes at most (E.2)
	step        float32
	width       int // log2 of a code-block's
	height      int
	grid        rect // of code-blocks, in units of code-blocks
	blocks      []codeBlock
}

// codeBlock gathers what packets say of a code-block.
type codeBlock struct {
	segments    []segment
	planes      uint8 // coded bit-planes, once included
	passes      uint8
	lengthBits  uint8 // Lblock
	wasIncluded bool
}

// segment is a stretch of a code-block's data between terminations of the coder (D.4).
type segment struct {
	data    []byte
	passes  int
	most    int // passes it can hold
	pending int // bytes announced in the packet being read
}

// precinct is a part of a resolution whose code-blocks are coded in packets of
// their own (B.6).
type precinct struct {
	x, y  int // of its top-left corner on the reference grid, within the tile
	bands []bandPrecinct
}

// bandPrecinct is a precinct's share of a band.
type bandPrecinct struct {
	band     *band
	blocks   rect // in units of code-blocks
	included *tagTree
	leading  *tagTree // all-zero bit-planes
}

// newTile works out the geometry of a tile. Its cost is kept in proportion to the
// tile's area.
func newTile(area rect, c *coding, bits int) (*tile, error) {
	t := &tile{area: area, coding: c, resolutions: make([]resolution, c.levels+1)}
	if c.region > 0 && c.modes&highThroughput != 0 {
		return nil, codec.Unsupported("codec.fast-region", "region of interest in high-throughput code-blocks")
	}
	pixels := area.width() * area.height()
	blocksLeft, precinctsLeft := pixels/32+1<<14, pixels/128+1<<12
	for r := range t.resolutions {
		res := &t.resolutions[r]
		res.area = area.reduce(c.levels-r, 0, 0)
		orientations := []int{1, 2, 3}
		if r == 0 {
			orientations = []int{0}
		}
		for _, o := range orientations {
			b, err := t.newBand(r, o, bits)
			if err != nil {
				return nil, err
			}
			if blocksLeft -= b.grid.width() * b.grid.height(); blocksLeft < 0 {
				return nil, codec.Unsupported("codec.many-blocks", "code-blocks of %d x %d on an image of this size", "Width", 1<<b.width, "Height", 1<<b.height)
			}
			b.blocks = make([]codeBlock, b.grid.width()*b.grid.height())
			res.bands = append(res.bands, b)
		}
		n := t.countPrecincts(r)
		if precinctsLeft -= n; precinctsLeft < 0 {
			return nil, codec.Unsupported("codec.many-precincts", "precincts so small on an image of this size")
		}
		res.precincts = make([]precinct, n)
		for i := range res.precincts {
			t.place(r, i)
		}
	}
	return t, nil
}

// newBand works out a band (B.5) with its code-block grid and quantization.
func (t *tile) newBand(r, orientation, bits int) (*band, error) {
	c := t.coding
	level := c.levels - max(r-1, 0) // nb
	xOffset, yOffset := 0, 0
	if r > 0 {
		xOffset, yOffset = orientation&1<<(level-1), orientation>>1<<(level-1)
	}
	s, err := c.step(r, orientation)
	if err != nil {
		return nil, err
	}
	gain := []int{0, 1, 1, 2}[orientation] // Table E.1
	b := &band{
		area:        t.area.reduce(level, xOffset, yOffset),
		orientation: orientation,
		planes:      c.guard + s.exponent - 1,
		step:        float32((1 + float64(s.mantissa)/2048) * math.Ldexp(1, bits+gain-s.exponent)),
	}
	if b.planes < 0 {
		return nil, codec.Malformed("codec.band-planes", "band of %d bit-planes", "N", b.planes)
	}
	precinctWidth, precinctHeight := c.precinct(r)
	if r > 0 {
		precinctWidth, precinctHeight = precinctWidth-1, precinctHeight-1
	}
	b.width, b.height = min(c.blockWidth, precinctWidth), min(c.blockHeight, precinctHeight)
	if b.area.width() > 0 && b.area.height() > 0 {
		b.grid = cells(b.area, b.width, b.height)
	}
	return b, nil
}

// cells is the rectangle of cells of size 2^width x 2^height, in units of
// cells, that a rectangle touches.
func cells(r rect, width, height int) rect {
	return rect{r.x0 >> width, r.y0 >> height, ceilShift(r.x1, width), ceilShift(r.y1, height)}
}

// countPrecincts gives the number of precincts of a resolution (B.6).
func (t *tile) countPrecincts(r int) int {
	res := &t.resolutions[r]
	if res.area.width() == 0 || res.area.height() == 0 {
		return 0
	}
	width, height := t.coding.precinct(r)
	grid := cells(res.area, width, height)
	res.across = grid.width()
	return grid.width() * grid.height()
}

// place works out precinct i of a resolution.
func (t *tile) place(r, i int) {
	res := &t.resolutions[r]
	width, height := t.coding.precinct(r)
	column, row := res.area.x0>>width+i%res.across, res.area.y0>>height+i/res.across
	below := t.coding.levels - r
	p := &res.precincts[i]
	p.x, p.y = max(column<<width<<below, t.area.x0), max(row<<height<<below, t.area.y0)
	p.bands = make([]bandPrecinct, len(res.bands))
	if r > 0 {
		width, height = width-1, height-1
	}
	cell := rect{column << width, row << height, (column + 1) << width, (row + 1) << height}
	for k, b := range res.bands {
		p.bands[k].band = b
		if part := cell.intersect(b.area); part.width() > 0 && part.height() > 0 {
			p.bands[k].blocks = cells(part, b.width, b.height)
		}
	}
}

// area is the part of the band that a code-block covers.
func (b *band) blockArea(x, y int) rect {
	return rect{x << b.width, y << b.height, (x + 1) << b.width, (y + 1) << b.height}.intersect(b.area)
}

// block is the code-block at a place of the grid.
func (b *band) block(x, y int) *codeBlock {
	return &b.blocks[(y-b.grid.y0)*b.grid.width()+x-b.grid.x0]
}
