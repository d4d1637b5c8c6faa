package phantom

import (
	"image"
	"image/png"
	"os"
	"testing"

	"linerwatch/measure"
)

func TestLook(t *testing.T) {
	dir := os.Getenv("PHANTOM_LOOK")
	if dir == "" {
		t.Skip("PHANTOM_LOOK is not set")
	}
	right, left := DefaultHip(measure.Right), DefaultHip(measure.Left)
	wire := right
	wire.Cup, wire.ShellMM = measure.Wire, 46
	wire.StemMaterial, wire.HeadMaterial = Steel, Steel
	wire.HeadMM = 22.2
	ceramic := left
	ceramic.HeadMaterial, ceramic.HeadMM, ceramic.Screws, ceramic.Holes = Alumina, 36, 2, true
	for name, hips := range map[string][]Hip{
		"native": nil, "wire": {wire}, "ceramic": {ceramic}, "both": {right, ceramic}, "hard": {right},
	} {
		s := Default()
		s.Hips = hips
		if name == "hard" {
			s = Hard(s)
		}
		img, err := Render(s)
		if err != nil {
			t.Fatal(err)
		}
		save(t, dir+"/"+name+".png", img)
	}
}

func save(t *testing.T, name string, img image.Image) {
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := enc.Encode(f, img); err != nil {
		t.Fatal(err)
	}
}

func BenchmarkRender(b *testing.B) {
	s := Default()
	s.Hips = []Hip{DefaultHip(measure.Right), DefaultHip(measure.Left)}
	for b.Loop() {
		if _, err := Render(s); err != nil {
			b.Fatal(err)
		}
	}
}
