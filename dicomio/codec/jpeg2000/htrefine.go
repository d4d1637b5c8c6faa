package jpeg2000

// Marks of a sample in refinement.
const (
	markBefore = 1 << iota // not zero by the cleanup pass
	markNow                // not zero by the significance pass
)

// refine decodes the bit-plane below that of the cleanup pass: samples that were
// zero beside such as were not from the front of the segment, and one more bit of
// those that were not from its back (T.814 7.4, 7.5).
func (d *blockDecoder) refine(s segment, plane int, causal bool) {
	d.mark()
	front := forwardBits{src: s.data}
	for y := 0; y < d.height; y += stripeRows {
		for x := 0; x < d.width; x += 4 {
			d.becomeHT(&front, x, y, plane, causal)
		}
	}
	if s.passes < 2 {
		return
	}
	back := backwardBits{src: s.data, stuffs: true}
	for y := 0; y < d.height; y += stripeRows {
		for x := range d.width {
			for k := y; k < min(y+stripeRows, d.height); k++ {
				if d.ht.marks[d.markAt(x, k)]&markBefore == 0 {
					continue
				}
				v := &d.data[k*d.width+x]
				*v ^= int32(back.bits(1)^1) << plane // it stood at the middle, 1
				*v |= 1 << (plane - 1)
			}
		}
	}
}

// mark notes the samples that are not zero, with one around on every side.
func (d *blockDecoder) mark() {
	n := (d.width + 2) * (d.height + 2)
	if cap(d.ht.marks) < n {
		d.ht.marks = make([]uint8, n)
	}
	d.ht.marks = d.ht.marks[:n]
	clear(d.ht.marks)
	for i, v := range d.data {
		if v != 0 {
			d.ht.marks[d.markAt(i%d.width, i/d.width)] = markBefore
		}
	}
}

func (d *blockDecoder) markAt(x, y int) int { return (y+1)*(d.width+2) + x + 1 }

// becomeHT decodes the significance pass of four columns of a stripe: which samples
// become significant, and then their signs.
func (d *blockDecoder) becomeHT(front *forwardBits, x0, y0, plane int, causal bool) {
	marks, stride := d.ht.marks, d.width+2
	var now [4 * stripeRows]int
	n := 0
	for x := x0; x < min(x0+4, d.width); x++ {
		for y := y0; y < min(y0+stripeRows, d.height); y++ {
			at := d.markAt(x, y)
			around := marks[at-stride-1] | marks[at-stride] | marks[at-stride+1] | marks[at-1] | marks[at+1]
			if !causal || y < y0+stripeRows-1 {
				around |= marks[at+stride-1] | marks[at+stride] | marks[at+stride+1]
			}
			if marks[at] == 0 && around != 0 && front.bits(1) == 1 {
				marks[at] = markNow
				now[n] = y*d.width + x
				n++
			}
		}
	}
	for _, i := range now[:n] {
		d.data[i] = int32(3<<(plane-1) | front.bits(1)<<31)
	}
}
