package jpeg2000

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
)

// TestRegionInBlocks decodes the code-blocks of films as they are and as if they
// had a region of interest. The standard's way to undo one (H.1) on the former has
// to give the latter: what reaches a plane of the region is shifted down.
func TestRegionInBlocks(t *testing.T) {
	for _, name := range []string{"gdcm-12.j2k", "gdcm-16.j2k", "opj-12-modes.j2k", "opj-12-tiles.j2k"} {
		data, err := os.ReadFile("testdata/" + name)
		require.NoError(t, err)
		h, err := readHeaders(data, codec.Size{Rows: 40, Columns: 33, Bits: 16})
		require.NoError(t, err)
		tile, err := newTile(h.size.tile(0), h.tiles[0].coding, h.size.bits)
		require.NoError(t, err)
		require.NoError(t, tile.readPackets(h.tiles[0].data[0]))
		mixed := 0
		for _, r := range tile.resolutions {
			for _, b := range r.bands {
				mixed += regionInBand(t, b, tile.coding.modes)
			}
		}
		require.Positive(t, mixed, "blocks with coefficients of both kinds")
	}
}

func regionInBand(t *testing.T, b *band, modes mode) (mixed int) {
	var plain, shifted blockDecoder
	for y := b.grid.y0; y < b.grid.y1; y++ {
		for x := b.grid.x0; x < b.grid.x1; x++ {
			block, area := b.block(x, y), b.blockArea(x, y)
			plain.decode(block, b.orientation, area.width(), area.height(), modes, 0)
			for region := 1; region <= int(block.planes); region++ {
				shifted.decode(block, b.orientation, area.width(), area.height(), modes, region)
				inside := 0
				want := slices.Clone(plain.data)
				for i, v := range want {
					v /= 2
					if max(v, -v) >= 1<<region {
						inside++
						v = sign(v) * (max(v, -v) >> region)
					}
					want[i] = v
				}
				for i, v := range shifted.data {
					shifted.data[i] = v / 2
				}
				require.Equal(t, want, shifted.data)
				if inside > 0 && inside < len(want) {
					mixed++
				}
			}
		}
	}
	return mixed
}

func sign(v int32) int32 { return v>>31 | 1 }
