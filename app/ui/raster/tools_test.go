package raster

import (
	"image"
	"image/color"
	"math"
	"testing"

	"golang.org/x/image/font/gofont/goregular"
)

// faintFilm holds a bright shell and in it a disc that is brighter by step levels,
// on a ramp that is steeper than the disc's edge.
func faintFilm(step int) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, 300, 300))
	for y := range 300 {
		for x := range 300 {
			v := 8000 + 40*x
			if math.Hypot(float64(x)-150, float64(y)-150) < 100 {
				v += 30000
			}
			if math.Hypot(float64(x)-150, float64(y)-140) < 50 {
				v += step
			}
			i := img.PixOffset(x, y)
			img.Pix[i], img.Pix[i+1] = byte(v>>8), byte(v)
		}
	}
	return img
}

func TestLocalContrastLiftsTheFaintHead(t *testing.T) {
	film := faintFilm(900)
	before := append([]byte(nil), film.Pix...)
	var f Frame
	f.SetFilm(film)
	s := Scene{Width: 300, Height: 300, Zoom: 1, Scale: 1, Greys: Greys{Center: 30000, Window: 60000}}
	step := func(img *image.RGBA) int { // across the faint disc's upper edge
		return int(img.Pix[95*img.Stride+4*150]) - int(img.Pix[85*img.Stride+4*150])
	}
	plain := step(f.Draw(s))
	outside := f.Draw(s).RGBAAt(20, 150)
	s.Local = Local{150, 150, 100}
	img := f.Draw(s)
	if lifted := step(img); lifted < 2*plain || plain <= 0 {
		t.Errorf("the step is %d levels, without local contrast %d", lifted, plain)
	}
	if got := img.RGBAAt(20, 150); got != outside {
		t.Errorf("the film outside the circle is %v, was %v", got, outside)
	}
	for i := range before {
		if film.Pix[i] != before[i] {
			t.Fatal("the film's own values were changed")
		}
	}
	s.Local = Local{150, 150, 0}
	if got := step(f.Draw(s)); got != plain {
		t.Errorf("switched off, the step is %d levels, want %d", got, plain)
	}
}

// TestLocalContrastClipsNoise: on an even ground the limit keeps a level's share
// of the scale below localClip and what is shared out.
func TestLocalContrastClipsNoise(t *testing.T) {
	var c [localLevels]float32
	for i := 200; i < 204; i++ {
		c[i] = 1000 // all in four levels, as even metal is
	}
	curve(&c)
	if rise := float64(c[203]-c[199]) / 65535; rise > 4*(localClip+1)/localLevels {
		t.Errorf("four levels take %.3f of the scale", rise)
	}
	if c[localLevels-1] < 65000 {
		t.Errorf("the scale ends at %g", c[localLevels-1])
	}
}

func TestLocalContrastWithoutRoom(t *testing.T) {
	var f Frame
	f.SetFilm(faintFilm(900))
	s := Scene{Width: 60, Height: 60, Zoom: 1, Scale: 1, Greys: Greys{Center: 30000, Window: 60000}}
	want := append([]byte(nil), f.Draw(s).Pix...)
	for _, l := range []Local{{-500, -500, 40}, {150, 150, 3}, {150, 150, math.NaN()}} {
		s.Local = l
		got := f.Draw(s)
		for i := range want {
			if got.Pix[i] != want[i] {
				t.Fatalf("%v changes the picture", l)
			}
		}
	}
}

func TestLoupeMagnifiesAboutItsMiddle(t *testing.T) {
	var f Frame
	f.SetFilm(discFilm(300, 150, 150, 20))
	s := Scene{Width: 300, Height: 300, Zoom: 1, Scale: 1, Greys: Greys{Center: 32768, Window: 65536},
		Loupe: &Loupe{X: 150, Y: 150, At: [2]float64{150, 150}, R: 80, Times: 3}}
	bright := func(img *image.RGBA) (n int) {
		for x := 80; x < 220; x++ {
			if img.Pix[150*img.Stride+4*x] > 128 {
				n++
			}
		}
		return n
	}
	if n := bright(f.Draw(s)); n < 118 || n > 122 {
		t.Errorf("a disc of 40 px is %d wide in a loupe of 3 times", n)
	}
	s.Loupe = nil
	if n := bright(f.Draw(s)); n < 38 || n > 42 {
		t.Errorf("without the loupe it is %d wide", n)
	}
}

// TestLoupeAtTheBorder must not write outside the picture.
func TestLoupeAtTheBorder(t *testing.T) {
	var f Frame
	f.SetFilm(discFilm(300, 150, 150, 20))
	s := Scene{Width: 200, Height: 120, Zoom: 1, Scale: 2, Greys: Greys{Center: 32768, Window: 65536}}
	for _, at := range [][2]float64{{0, 0}, {199, 119}, {-300, 50}, {90, 1000}} {
		s.Loupe = &Loupe{X: at[0], Y: at[1], At: at, R: 90, Times: 4}
		f.Draw(s)
	}
}

// TestToolOverlays shows lines, handles, local contrast, a loupe and a second film.
func TestToolOverlays(t *testing.T) {
	text, err := NewType(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	f := Frame{Text: text}
	f.SetFilm(faintFilm(1500))
	amber, blue, green := color.RGBA{255, 179, 92, 255}, color.RGBA{108, 198, 255, 255}, color.RGBA{138, 214, 143, 255}
	s := Scene{
		Width: 420, Height: 320, X: -10, Y: -8, Zoom: 1.3, Greys: Greys{Center: 30000, Window: 60000}, Scale: 1,
		Local: Local{150, 150, 100},
		Rings: []Ring{{X: 150, Y: 140, R: 50, Color: amber, Width: 1.8, Cross: 6}},
		Lines: []Line{{AX: 20, AY: 220, BX: 280, BY: 210, Color: green, Width: 1.4, Dashed: true},
			{AX: 70, AY: 90, BX: 230, BY: 210, Color: blue, Width: 1.4}},
		Handles: []Handle{{X: 20, Y: 220, Color: green}, {X: 280, Y: 210, Color: green, Grown: true}, {X: 200, Y: 140, Color: amber}},
		Labels:  []Label{{X: 280, Y: 210, Text: "reference line", Color: green}},
		Loupe:   &Loupe{X: 300, Y: 100, At: [2]float64{260, 130}, R: 70, Times: 3},
		Marks:   []Mark{{Left: true, Top: true, Text: "R"}, {Top: true, Text: "L"}, {Left: true, Top: true, Text: "local contrast inside the cup"}},
	}
	check(t, f.Draw(s), "tools.png")
	s.Loupe = nil
	for mix, name := range map[Mix]string{Half: "blend.png", Before: "wipe.png", Only: "other.png"} {
		s.Under = &Under{Film: discFilm(300, 150, 150, 45), X: -10, Y: -8, Zoom: 1.3,
			Greys: Greys{Center: 32768, Window: 65536}, Mix: mix, Column: 210}
		check(t, f.Draw(s), name)
	}
}
