package letters

import (
	"encoding/binary"
	"image"
	"math"
)

// grey is a picture whose bright side is looked at: its values, or them upside down.
type grey struct {
	pix    []uint16
	w, h   int
	cut    uint16  // the least value of a stroke
	spread float64 // of the picture's greys
}

const (
	topShare = 0.65 // of the spread from the darkest value up: where strokes begin
	standOut = 0.12 // of the spread: by how much strokes are brighter than what is around them
	clearOf  = 3.5  // and in standard deviations of what is around them, which noise is not
)

// greysOf returns a picture as it is and upside down. They are nil where it is flat.
func greysOf(img *image.Gray16) []grey {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	low, high := uint16(math.MaxUint16), uint16(0)
	up, down := make([]uint16, w*h), make([]uint16, w*h)
	for y := range h {
		row := img.Pix[y*img.Stride:]
		for x := range w {
			v := binary.BigEndian.Uint16(row[2*x:])
			up[y*w+x], down[y*w+x] = v, math.MaxUint16-v
			low, high = min(low, v), max(high, v)
		}
	}
	if high <= low {
		return nil
	}
	spread := float64(high - low)
	cut := low + uint16(math.Ceil(topShare*spread))
	cutDown := math.MaxUint16 - (high - uint16(math.Ceil(topShare*spread)))
	return []grey{{up, w, h, cut, spread}, {down, w, h, cutDown, spread}}
}

// blob is pixels that are all above the cut and hang together.
type blob struct {
	box    image.Rectangle
	area   int
	edges  int     // sides of pixels that face others below the cut
	across int     // runs of pixels along its rows
	down   int     // and along its columns
	inside float64 // mean of its own values
	around float64 // mean of those it stands out from
	rough  float64 // standard deviation of those
}

// stroke is the mean width of what the blob is drawn with: that of a long bar is
// twice its area over its outline.
func (b blob) stroke() float64 { return 2 * float64(b.area) / float64(b.edges) }

// blobs returns those whose boxes are no larger than most x most.
func (g grey) blobs(most int) (out []blob) {
	seen := make([]bool, len(g.pix))
	var stack []int32
	for at, v := range g.pix {
		if v < g.cut || seen[at] {
			continue
		}
		seen[at] = true
		stack = append(stack[:0], int32(at))
		b := blob{box: image.Rect(at%g.w, at/g.w, at%g.w+1, at/g.w+1)}
		for len(stack) > 0 {
			p := int(stack[len(stack)-1])
			stack = stack[:len(stack)-1]
			stack = g.grow(&b, p, seen, stack)
		}
		if max(b.box.Dx(), b.box.Dy()) <= most && b.edges > 0 {
			b.inside /= float64(b.area)
			b.around /= float64(b.edges)
			b.rough = math.Sqrt(max(b.rough/float64(b.edges)-b.around*b.around, 0))
			out = append(out, b)
		}
	}
	return out
}

// grow adds the pixel p to a blob and its neighbours to those to come.
func (g grey) grow(b *blob, p int, seen []bool, stack []int32) []int32 {
	x, y := p%g.w, p/g.w
	b.box.Min.X, b.box.Max.X = min(b.box.Min.X, x), max(b.box.Max.X, x+1)
	b.box.Min.Y, b.box.Max.Y = min(b.box.Min.Y, y), max(b.box.Max.Y, y+1)
	b.area++
	b.inside += float64(g.pix[p])
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			nx, ny := x+dx, y+dy
			if nx < 0 || ny < 0 || nx >= g.w || ny >= g.h {
				continue
			}
			n := ny*g.w + nx
			switch {
			case g.pix[n] >= g.cut:
				if !seen[n] {
					seen[n] = true
					stack = append(stack, int32(n))
				}
			case dx == 0 || dy == 0:
				b.edges++
				v := float64(g.beyond(x, y, dx, dy))
				b.around += v
				b.rough += v * v
				if dx < 0 {
					b.across++
				}
				if dy < 0 {
					b.down++
				}
			}
		}
	}
	return stack
}

// beyond is the value outside of the edge at (x, y), two pixels off where no other
// stroke is there: the first may be of a soft edge.
func (g grey) beyond(x, y, dx, dy int) uint16 {
	v := g.pix[(y+dy)*g.w+x+dx]
	if x, y = x+2*dx, y+2*dy; x >= 0 && y >= 0 && x < g.w && y < g.h {
		if far := g.pix[y*g.w+x]; far < g.cut {
			return min(v, far)
		}
	}
	return v
}
