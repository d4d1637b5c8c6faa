package jpeg2000

import (
	"cmp"
	"slices"
)

// packetID names a packet of the one component.
type packetID struct{ resolution, precinct int }

// readPackets reads a tile's packets in the order of its progression (B.12.1).
func (t *tile) readPackets(data []byte) error {
	r := newPacketReader(t, data)
	var ids []packetID
	for i := range t.resolutions {
		for k := range t.resolutions[i].precincts {
			ids = append(ids, packetID{i, k})
		}
	}
	layers := t.coding.layers
	switch t.coding.progression {
	case layerFirst:
		for layer := range layers {
			for _, id := range ids {
				if err := r.packet(id, layer); err != nil {
					return err
				}
			}
		}
		return r.finish()
	case resolutionFirst:
		for len(ids) > 0 {
			n := len(t.resolutions[ids[0].resolution].precincts)
			for layer := range layers {
				for _, id := range ids[:n] {
					if err := r.packet(id, layer); err != nil {
						return err
					}
				}
			}
			ids = ids[n:]
		}
		return r.finish()
	case placeFirst, componentFirst: // alike for one component
		t.sortByPlace(ids)
	}
	// By resolution and place: the precincts are numbered like that.
	for _, id := range ids {
		for layer := range layers {
			if err := r.packet(id, layer); err != nil {
				return err
			}
		}
	}
	return r.finish()
}

// sortByPlace orders packets by rows and columns of the reference grid, then by
// resolution.
func (t *tile) sortByPlace(ids []packetID) {
	slices.SortStableFunc(ids, func(a, b packetID) int {
		p, q := &t.resolutions[a.resolution].precincts[a.precinct], &t.resolutions[b.resolution].precincts[b.precinct]
		return cmp.Or(cmp.Compare(p.y, q.y), cmp.Compare(p.x, q.x), cmp.Compare(a.resolution, b.resolution))
	})
}
