package raster

import (
	"image"
	"image/color"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Type sets text into pictures in one font.
type Type struct {
	Bare bool // written without a dark edge, for an even ground

	font  *opentype.Font
	faces map[float64]font.Face
}

// NewType reads a TrueType or OpenType font.
func NewType(data []byte) (*Type, error) {
	f, err := opentype.Parse(data)
	if err != nil {
		return nil, err
	}
	return &Type{font: f, faces: map[float64]font.Face{}}, nil
}

// face returns the font at a height of px pixels.
func (t *Type) face(px float64) font.Face {
	if f, ok := t.faces[px]; ok {
		return f
	}
	f, err := opentype.NewFace(t.font, &opentype.FaceOptions{Size: px, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return nil
	}
	t.faces[px] = f
	return f
}

// width returns the length of s in pixels.
func (t *Type) width(s string, px float64) float64 {
	f := t.face(px)
	if f == nil {
		return 0
	}
	return float64(font.MeasureString(f, s)) / 64
}

// write sets s with its baseline's start at (x, y), on a dark edge so that it can
// be read on any grey.
func (t *Type) write(img *image.RGBA, x, y, px float64, s string, c color.RGBA) {
	f := t.face(px)
	if f == nil {
		return
	}
	d := font.Drawer{Dst: img, Face: f}
	at := func(dx, dy float64, c color.RGBA) {
		d.Src = image.NewUniform(c)
		d.Dot = fixed.Point26_6{X: fixed.Int26_6((x + dx) * 64), Y: fixed.Int26_6((y + dy) * 64)}
		d.DrawString(s)
	}
	if t.Bare {
		at(0, 0, c)
		return
	}
	k := max(1, px/14)
	for _, o := range [][2]float64{{-k, 0}, {k, 0}, {0, -k}, {0, k}} {
		at(o[0], o[1], color.RGBA{0, 0, 0, 190})
	}
	at(0, 0, c)
}
