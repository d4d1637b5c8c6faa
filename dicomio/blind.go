package dicomio

import (
	"image"
	"slices"

	"linerwatch/dicomio/letters"
)

// Blind returns the film, under another name, with what measuring it takes: nothing of its
// file tells whose it is or when it was taken, and what looks like text in its picture is
// black. Its hash and key are the name. f stays as it is.
func (f *Film) Blind(name string) *Film {
	img := &image.Gray16{Pix: slices.Clone(f.Pixels.Pix), Stride: f.Pixels.Stride, Rect: f.Pixels.Rect}
	for _, r := range letters.Find(f.Pixels) {
		r = r.Intersect(img.Rect)
		for y := r.Min.Y; y < r.Max.Y; y++ {
			clear(img.Pix[img.PixOffset(r.Min.X, y):img.PixOffset(r.Max.X, y)])
		}
	}
	return &Film{Path: name, SHA256: name, Key: name, Format: f.Format, Pixels: img, Rows: f.Rows, Columns: f.Columns,
		Bits: f.Bits, Photometric: f.Photometric, Lossy: f.Lossy, Laterality: f.Laterality, View: f.View, Views: f.Views,
		Geometry: f.Geometry, Field: f.Field, Greys: f.Greys}
}
