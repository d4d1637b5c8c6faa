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
		Width: 420, Height: 320, X: -10, Y: -8, Zoom: 1.3, Greys: Greys{Center: 32768, Window: 65536}, Scale: 1,
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

func TestStripAndLiner(t *testing.T) {
	text, err := NewType(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	text.Bare = true
	s := Strip{Width: 420, Height: 150, Scale: 1, Color: color.RGBA{255, 179, 92, 255}, Left: color.RGBA{255, 143, 134, 255},
		Ground: color.RGBA{17, 21, 25, 255}, Text: color.RGBA{163, 176, 186, 255}, From: 200, To: 260, Hover: 3}
	for a := 0.0; a < 360; a += 6 {
		p := StripPoint{Angle: a, Residual: (float64(int(a)%36) - 18) / 60, Kept: a < 210 || a > 250}
		p.None = a > 230 && a < 250
		if !p.Kept {
			p.Residual *= 9
		}
		s.Points = append(s.Points, p)
	}
	check(t, s.Draw(text), "strip.png")
	l := Liner{Width: 420, Height: 380, Scale: 1, HeadR: 14, LinerMM: 9, CupR: 27, CupX: 0.3, CupY: 0.2, DX: 0.4, DY: -2,
		Ground: color.RGBA{251, 250, 247, 255}, Ink: color.RGBA{28, 36, 43, 255}, Cup: color.RGBA{201, 206, 211, 255},
		PE: color.RGBA{241, 223, 180, 255}, Head: color.RGBA{159, 175, 188, 255}, Then: color.RGBA{28, 36, 43, 255},
		Moved: color.RGBA{138, 44, 166, 255}, Labels: [3]string{"first film", "last film", "10 mm"}}
	check(t, l.Draw(text), "liner.png")
}

func TestStripPlacesAndFindsPoints(t *testing.T) {
	s := Strip{Width: 600, Height: 160, Scale: 1, Points: []StripPoint{{Angle: 90, Residual: 0.2, Kept: true}, {Angle: 270, Residual: -9}}}
	if l := s.Limit(); l != 0.5 {
		t.Errorf("limit %g, want 0.5: the point left out does not set it", l)
	}
	for i, p := range s.Points {
		x, y := s.Place(p)
		if got := s.Nearest(x+3, y-3); got != i {
			t.Errorf("point %d: found %d", i, got)
		}
		if a := s.Angle(x); a < p.Angle-1e-9 || a > p.Angle+1e-9 {
			t.Errorf("angle %g, want %g", a, p.Angle)
		}
	}
	if got := s.Nearest(5, 5); got != -1 {
		t.Errorf("found %d where there is none", got)
	}
}
