package batch

import (
	"image/png"
	"io"

	"linerwatch/app/source"
)

// StoredPNG writes the stored values of one frame of the film at path as a
// 16-bit grey PNG.
func StoredPNG(path string, frame int, w io.Writer) error {
	f, err := source.Frame(path, frame)
	if err != nil {
		return err
	}
	return f.WriteStoredPNG(w)
}

// DisplayPNG writes one frame of the film at path as an 8-bit grey PNG, upright,
// with square pixels and in the greys that its file asks for.
func DisplayPNG(path string, frame int, w io.Writer) error {
	f, err := source.Frame(path, frame)
	if err != nil {
		return err
	}
	if f, err = source.Ready(f); err != nil {
		return err
	}
	return png.Encode(w, f.Display(nil))
}
