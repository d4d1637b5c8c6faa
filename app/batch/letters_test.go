package batch

import (
	"flag"
	"fmt"
	"image"
	"image/color"
	"math/bits"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/inconsolata"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"linerwatch/dicomio/letters"
	"linerwatch/measure/phantom/chance"
)

var lettersFilms = flag.Int("letters", 0, "drawn films to measure the finding of text on")
var lettersSeed = flag.Int("lettersseed", 20261130, "their seed; tuning used seeds below 1000 only")

// typeface is a font that text is drawn in, at a size in pixels.
type typeface struct {
	name string
	face font.Face
	size int
}

// typefaces are the fonts of golang.org/x/image, and DejaVu where Debian's
// fonts-dejavu-core is installed, in every size.
func typefaces(t *testing.T, sizes ...int) (all []typeface) {
	fonts := map[string][]byte{"Go": goregular.TTF, "Go bold": gobold.TTF, "Go italic": goitalic.TTF, "Go mono": gomono.TTF}
	for name, path := range map[string]string{"DejaVu sans": "DejaVuSans.ttf", "DejaVu mono": "DejaVuSansMono.ttf", "DejaVu serif": "DejaVuSerif.ttf"} {
		if b, err := os.ReadFile("/usr/share/fonts/truetype/dejavu/" + path); err == nil {
			fonts[name] = b
		}
	}
	for name, ttf := range fonts {
		f, err := opentype.Parse(ttf)
		require.NoError(t, err)
		for _, size := range sizes {
			face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: float64(size), DPI: 72, Hinting: font.HintingFull})
			require.NoError(t, err)
			all = append(all, typeface{name, face, size})
		}
	}
	all = append(all, typeface{"bitmap 7x13", basicfont.Face7x13, 13}, typeface{"bitmap 8x16", inconsolata.Regular8x16, 16})
	slices.SortFunc(all, func(a, b typeface) int { return a.size - b.size })
	return all
}

// lettered is a copy of a film with a line of text in one of its corners, bright or
// dark, whichever is seen there, and the text's pixels.
func lettered(img *image.Gray16, f typeface, words string, corner int) (out *image.Gray16, ink []image.Point) {
	m := f.face.Metrics()
	w, h := font.MeasureString(f.face, words).Ceil(), (m.Ascent + m.Descent).Ceil()
	mask := image.NewAlpha(image.Rect(0, 0, w, h))
	(&font.Drawer{Dst: mask, Src: image.Opaque, Face: f.face, Dot: fixed.Point26_6{Y: m.Ascent}}).DrawString(words)
	out = image.NewGray16(img.Rect)
	copy(out.Pix, img.Pix)
	x, y := 8, 8
	if corner&1 != 0 {
		x = img.Rect.Dx() - w - 8
	}
	if corner&2 != 0 {
		y = img.Rect.Dy() - h - 8
	}
	var most uint16
	for i := 0; i < len(img.Pix); i += 2 {
		most = max(most, uint16(img.Pix[i])<<8|uint16(img.Pix[i+1]))
	}
	full := uint16(1<<bits.Len16(most) - 1)
	sum := 0.0
	for dy := range h {
		for dx := range w {
			sum += float64(img.Gray16At(x+dx, y+dy).Y)
		}
	}
	level := full
	if sum/float64(w*h) > float64(full)/2 {
		level = 0
	}
	for dy := range h {
		for dx := range w {
			a := float64(mask.AlphaAt(dx, dy).A) / 255
			v := float64(img.Gray16At(x+dx, y+dy).Y)
			out.SetGray16(x+dx, y+dy, color.Gray16{Y: uint16(v + a*(float64(level)-v))})
			if a > 0.5 {
				ink = append(ink, image.Pt(x+dx, y+dy))
			}
		}
	}
	return out, ink
}

// covered is the share of the points that lie in rectangles.
func covered(ink []image.Point, in []image.Rectangle) float64 {
	n := 0
	for _, p := range ink {
		if slices.ContainsFunc(in, p.In) {
			n++
		}
	}
	return float64(n) / float64(len(ink))
}

// drawnFilm is the film of a number, without text, every third without a replaced hip.
func drawnFilm(t *testing.T, seed uint64, n int) *image.Gray16 {
	plain := chance.Options{Without: []chance.Style{chance.Burned}}
	film := chance.Draw(seed, n, plain).Films[0]
	if n%3 == 2 {
		_, film = chance.Empty(seed, n, plain)
	}
	img, err := film.Develop()
	require.NoError(t, err)
	return img
}

// invented is a line as workstations write it: letters, digits, marks.
func invented(rng *rand.Rand) string {
	return fmt.Sprintf("QUINCE, Quill %04d-%02d-%02d  ID %06d", 1930+rng.IntN(70), 1+rng.IntN(12), 1+rng.IntN(28), rng.IntN(1e6))[rng.IntN(8):]
}

// Text of every font and size in a corner of drawn films is found, and films without
// are mostly left alone. With -letters N it is measured on N films, without
// bounds:
//
//	go test ./app/batch -run FindsLetters -v -letters 24
func TestFindsLetters(t *testing.T) {
	films, seed := 3, uint64(5)
	if *lettersFilms > 0 {
		films, seed = *lettersFilms, uint64(*lettersSeed)
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	faces := typefaces(t, 10, 14, 20, 32, 48)
	type score struct{ found, part, missed int }
	bySize, byFont := map[int]*score{}, map[string]*score{}
	alarms, alarmed, all, beside := 0, 0, score{}, 0
	for n := range films {
		img := drawnFilm(t, seed, n)
		plain := letters.Find(img)
		alarms += len(plain)
		if len(plain) > 0 {
			alarmed++
			t.Logf("film %d of %v without text: %v", n, img.Rect.Size(), plain)
		}
		for i, f := range faces {
			words := invented(rng)
			for font.MeasureString(f.face, words).Ceil() > img.Rect.Dx()-16 {
				words = words[:len(words)-1]
			}
			with, ink := lettered(img, f, words, i+n)
			in := letters.Find(with)
			share := covered(ink, in)
			for _, s := range []*score{entry(bySize, f.size), entry(byFont, f.name), &all} {
				switch {
				case share > 0.99:
					s.found++
				case share > 0:
					s.part++
				default:
					s.missed++
				}
			}
			beside += max(len(in)-len(plain)-1, 0)
		}
	}
	for size, s := range bySize {
		t.Logf("%2d px: %+v", size, *s)
	}
	for name, s := range byFont {
		t.Logf("%s: %+v", name, *s)
	}
	t.Logf("all: %+v; places more than the text's: %d", all, beside)
	t.Logf("%d films without text: %d with a false alarm, %d places", films, alarmed, alarms)
	if *lettersFilms == 0 {
		lines := all.found + all.part + all.missed
		require.GreaterOrEqual(t, all.found, 4*lines/5) // of the rest some letters are lost in what is as bright
		require.LessOrEqual(t, all.missed, lines/20)
		require.Zero(t, alarmed)
	}
}

func entry[K comparable, V any](m map[K]*V, k K) *V {
	if m[k] == nil {
		m[k] = new(V)
	}
	return m[k]
}
