package source

import (
	"slices"

	"linerwatch/app/study"
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
	add := func(code string, v study.Values) {
		square.Warnings = append(slices.Clone(square.Warnings), &dicomio.Fault{Code: code, Values: v})
	}
	if up != f {
		add("ready.turned", nil)
	}
	if square != up {
		add("ready.square", study.Values{"How": squareBy(up)})
	}
	if f.BoneDark() {
		add("ready.both-ways", nil)
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
