package figure

import (
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// face is a face of the font, of which all ways to draw take widths and shapes.
type face struct {
	ttf  []byte
	font *sfnt.Font
	em   fixed.Int26_6
}

var faces = sync.OnceValues(func() ([2]*face, error) {
	var out [2]*face
	for i, ttf := range [][]byte{liberationsansregular.TTF, liberationsansbold.TTF} {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			return out, err
		}
		out[i] = &face{ttf, f, fixed.Int26_6(f.UnitsPerEm()) << 6}
	}
	return out, nil
})

// clean leaves out what no letter stands for.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		case r > 0xffff:
			return unicode.ReplacementChar
		}
		return r
	}, text)
}

// glyph returns the number of a letter and its advance, of an em.
func (f *face) glyph(b *sfnt.Buffer, r rune) (sfnt.GlyphIndex, float64) {
	i, err := f.font.GlyphIndex(b, r)
	if err != nil {
		return 0, 0
	}
	adv, err := f.font.GlyphAdvance(b, i, f.em, font.HintingNone)
	if err != nil {
		return i, 0
	}
	return i, float64(adv) / float64(f.em)
}

// width returns that of a text of size 1.
func (f *face) width(text string) float64 {
	var b sfnt.Buffer
	var w float64
	for _, r := range text {
		_, adv := f.glyph(&b, r)
		w += adv
	}
	return w
}

// outline returns a text as a path that begins at a place on its base line.
func (f *face) outline(text string, size float64, at Point) path {
	var b sfnt.Buffer
	var out path
	x := at.X
	for _, r := range text {
		i, adv := f.glyph(&b, r)
		segments, err := f.font.LoadGlyph(&b, i, f.em, nil)
		if err != nil {
			continue
		}
		scale := size / float64(f.em)
		place := func(p fixed.Point26_6) Point {
			return Point{x + float64(p.X)*scale, at.Y + float64(p.Y)*scale}
		}
		for k, s := range segments {
			switch s.Op {
			case sfnt.SegmentOpMoveTo:
				if k > 0 {
					out = append(out, step{op: 'Z'})
				}
				out = append(out, step{op: 'M', to: place(s.Args[0])})
			case sfnt.SegmentOpLineTo:
				out = append(out, step{op: 'L', to: place(s.Args[0])})
			case sfnt.SegmentOpQuadTo:
				out = append(out, step{op: 'Q', c: place(s.Args[0]), to: place(s.Args[1])})
			}
		}
		if len(segments) > 0 {
			out = append(out, step{op: 'Z'})
		}
		x += adv * size
	}
	return out
}
