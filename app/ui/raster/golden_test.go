package raster

import (
	"flag"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/image/font/gofont/goregular"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// TestOverlays compares a picture with every kind of overlay to the golden one: at
// most 1 % of the pixels may differ by more than 4 levels.
func TestOverlays(t *testing.T) {
	text, err := NewType(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	f := Frame{Text: text}
	f.SetFilm(discFilm(300, 150, 140, 45))
	amber, blue := color.RGBA{255, 179, 92, 255}, color.RGBA{108, 198, 255, 255}
	s := Scene{
		Width: 420, Height: 320, X: -10, Y: -8, Zoom: 1.3, Center: 32768, Window: 65536, Scale: 1,
		Rings: []Ring{
			{X: 150, Y: 145, R: 90, Color: blue, Width: 1.2, Cross: 6},
			{X: 150, Y: 140, R: 45, Color: amber, Width: 1.8, Cross: 6, Handle: true},
			{X: 150, Y: 150, R: 45, Color: color.RGBA{233, 166, 255, 130}, Width: 1, Ghost: true},
		},
		Wires:  []Wire{{Ellipse{150, 145, 90, 24, 35}, blue, 1.2}},
		Dots:   []Dot{{X: 195, Y: 140, Color: amber}, {X: 200, Y: 160, Color: color.RGBA{255, 143, 134, 255}, Rejected: true}},
		Arrows: []Arrow{{X: 150, Y: 150, DX: 10, DY: -60, Color: color.RGBA{233, 166, 255, 255}, Label: "0.99 mm"}},
		Bar:    Bar{Length: 60, Label: "10 mm"},
		Marks:  []Mark{{Left: true, Top: true, Text: "R"}, {Top: true, Text: "L"}},
	}
	check(t, f.Draw(s), "overlays.png")
	s.Invert, s.Scale = true, 2
	check(t, f.Draw(s), "overlays-inverted-2x.png")
}

func check(t *testing.T, got *image.RGBA, name string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		w, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := png.Encode(w, got); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return
	}
	r, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	m, err := png.Decode(r)
	if err != nil {
		t.Fatal(err)
	}
	want := image.NewRGBA(m.Bounds())
	draw.Draw(want, want.Rect, m, m.Bounds().Min, draw.Src)
	if share := differing(got, want, 4); share > 0.01 {
		t.Errorf("%s: %.2f %% of the pixels differ", name, 100*share)
	}
}

// differing returns the share of pixels in which some channel differs by more than
// levels; 1 for pictures of different size.
func differing(a, b *image.RGBA, levels int) float64 {
	if a.Rect.Size() != b.Rect.Size() {
		return 1
	}
	n := 0
	for i := 0; i < len(a.Pix); i += 4 {
		for k := range 4 {
			if d := int(a.Pix[i+k]) - int(b.Pix[i+k]); d > levels || d < -levels {
				n++
				break
			}
		}
	}
	return float64(n) / float64(len(a.Pix)/4)
}
