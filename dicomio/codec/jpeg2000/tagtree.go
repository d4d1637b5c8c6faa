package jpeg2000

import "math"

// tagTree is a quad-tree of minima, decoded as far as is asked (B.10.2).
type tagTree struct {
	nodes  []tagNode
	levels []tagLevel // leaves first
}

type tagNode struct {
	bound uint16 // the value is at least this
	known bool   // it is this
}

type tagLevel struct{ start, across int }

func newTagTree(width, height int) *tagTree {
	t := &tagTree{}
	n := 0
	for {
		t.levels = append(t.levels, tagLevel{n, width})
		n += width * height
		if width*height <= 1 {
			break
		}
		width, height = (width+1)/2, (height+1)/2
	}
	t.nodes = make([]tagNode, n)
	return t
}

// below reads on until it is known whether the value at a leaf is less than limit.
func (t *tagTree) below(bits *headerBits, x, y, limit int) bool {
	limit = min(limit, math.MaxUint16)
	floor := uint16(0)
	for i := len(t.levels) - 1; i >= 0; i-- {
		node := &t.nodes[t.levels[i].start+(y>>i)*t.levels[i].across+x>>i]
		node.bound = max(node.bound, floor)
		for !node.known && int(node.bound) < limit {
			if bits.bit() == 1 {
				node.known = true
			} else {
				node.bound++
			}
		}
		floor = node.bound
	}
	leaf := t.nodes[y*t.levels[0].across+x]
	return leaf.known && int(leaf.bound) < limit
}
