package raster

import (
	"encoding/binary"
	"image"
)

// table maps each 16-bit grey value to an opaque pixel, red in the lowest byte.
type table [1 << 16]uint32

// set makes the table of a grey window.
func (t *table) set(center, window float64, invert bool) {
	lo, k := center-window/2, 255/max(window, 1)
	for i := range t {
		v := min(max((float64(i)-lo)*k, 0), 255)
		if invert {
			v = 255 - v
		}
		t[i] = grey(uint32(v + 0.5))
	}
}

func grey(v uint32) uint32 { return v | v<<8 | v<<16 | 0xff<<24 }

// surround is the colour outside the film: dark, but not a grey of the film's black.
const surround = 0xff_12_0f_0d // RGB 0d 0f 12

// apply looks src up into img, which is as large; outside the film it is plain.
func (t *table) apply(img *image.RGBA, src []uint16, inside image.Rectangle) {
	w := img.Rect.Dx()
	bands(img.Rect.Dy(), func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			out := img.Pix[y*img.Stride : y*img.Stride+4*w]
			x0, x1 := inside.Min.X, inside.Max.X
			if y < inside.Min.Y || y >= inside.Max.Y {
				x0, x1 = w, w
			}
			fill(out[:4*x0])
			fill(out[4*x1:])
			t.look(out[4*x0:4*x1], src[y*w+x0:y*w+x1])
		}
	})
}

func (t *table) look(out []byte, src []uint16) {
	for len(src) >= 2 && len(out) >= 8 {
		pair := uint64(t[src[0]]) | uint64(t[src[1]])<<32
		binary.LittleEndian.PutUint64(out, pair)
		src, out = src[2:], out[8:]
	}
	if len(src) == 1 {
		binary.LittleEndian.PutUint32(out, t[src[0]])
	}
}

func fill(out []byte) {
	for i := 0; i+4 <= len(out); i += 4 {
		binary.LittleEndian.PutUint32(out[i:], surround)
	}
}
