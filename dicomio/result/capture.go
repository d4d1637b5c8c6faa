package result

import (
	"image"
	"image/draw"
	"slices"

	"linerwatch/dicomio"
)

// Capture is a picture made of a film.
type Capture struct {
	Film    Film
	Hip     string
	Side    string // as that of a Report
	Picture image.Image
	About   string // what the picture shows
	Of      string // UID of the report that it goes with
	BurnsIn string // Burned In Annotation (0028,0301) of the film; "" where it is not stated
	Lossy   bool   // the film was compressed with loss
	Source
}

// Item returns the capture as a data set, its picture in 8 bits each of red, green and
// blue.
func (c Capture) Item() (dicomio.Item, error) {
	if err := check(c.Film, nil); err != nil {
		return nil, err
	}
	i := object(captures, c.Film, c.Hip, dicomio.MadeUID("capture", c.Of), c.Source)
	sided(i, c.Side)
	i.SetText(0x00080008, "CS", "DERIVED", "SECONDARY")
	i.SetText(0x00080064, "CS", "WSD")
	i.SetText(0x00082111, "ST", c.About)
	i.SetText(0x00200020, "CS") // orientation
	from := c.Film.refer()
	from.SetItems(0x0040A170, processedSource.item())
	i.SetItems(0x00082112, from)
	if c.BurnsIn != "" {
		i.SetText(0x00280301, "CS", c.BurnsIn)
	}
	if c.Lossy {
		i.SetText(0x00282110, "CS", "01")
	}
	r := c.Picture.Bounds()
	for tag, v := range map[uint32]int{
		0x00280002: 3, 0x00280006: 0, 0x00280010: r.Dy(), 0x00280011: r.Dx(),
		0x00280100: 8, 0x00280101: 8, 0x00280102: 7, 0x00280103: 0,
	} {
		i.SetNumbers(tag, "US", float64(v))
	}
	i.SetText(0x00280004, "CS", "RGB")
	i[0x7FE00010] = dicomio.Value{VR: "OB", Bytes: colours(c.Picture)}
	return i, nil
}

// colours are red, green and blue of each pixel, row by row.
func colours(img image.Image) []byte {
	r := img.Bounds()
	rgba := image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	draw.Draw(rgba, rgba.Rect, img, r.Min, draw.Src)
	out := make([]byte, 0, 3*r.Dx()*r.Dy())
	for p := range slices.Chunk(rgba.Pix, 4) {
		out = append(out, p[:3]...)
	}
	return out
}
