package source

import (
	"slices"

	"linerwatch/dicomio"
)

// Ready brings a film into the standard display and to square pixels, its padding
// black: all coordinates are those of this film. Its warnings say what was done, and its
// Key is still that of the picture as the file holds it.
// Where it cannot be, f itself is returned with the error.
func Ready(f *dicomio.Film) (*dicomio.Film, error) {
	up := f.Upright()
	square, err := up.Square()
	if err != nil {
		return f, err
	}
	add := func(text string) { square.Warnings = append(slices.Clone(square.Warnings), text) }
	if up != f {
		add("the file holds the film turned or mirrored: pixel coordinates are those of the upright film")
	}
	if square != up {
		add("pixels are not square: pixel coordinates are those of the film " + up.SquareBy())
	}
	if f.BoneDark() {
		add("outlines are looked for in the greys as shown and, where there are none, with dark and bright exchanged")
	}
	out := square.Unpadded()
	if out == f {
		return f, nil
	}
	keyed := *out
	if keyed.Key == "" {
		keyed.Key = f.PixelKey()
	}
	return &keyed, nil
}
