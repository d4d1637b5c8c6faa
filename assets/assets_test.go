package assets

import (
	"bytes"
	"image/png"
	"testing"
)

func TestIconIsDrawnAtItsSize(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(Icon))
	if err != nil {
		t.Fatal(err)
	}
	if s := img.Bounds().Size(); s.X != 256 || s.Y != 256 {
		t.Errorf("size %v", s)
	}
	_, _, _, corner := img.At(0, 0).RGBA()
	_, _, head, in := img.At(128, 130).RGBA()
	if corner != 0 || in != 0xffff || head < 0x8000 {
		t.Errorf("alpha %x at the corner, %x and blue %x inside", corner, in, head)
	}
}
