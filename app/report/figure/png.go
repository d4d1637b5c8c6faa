package figure

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image/color"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// png writes the figure as pixels, and how many of them make an inch.
func (f Figure) png(w io.Writer, dpi int) error {
	c := vgimg.NewWith(vgimg.UseWH(vg.Length(f.sheet.w), vg.Length(f.sheet.h)), vgimg.UseDPI(dpi))
	for _, i := range f.sheet.items {
		c.SetColor(color.NRGBA{i.ink.R, i.ink.G, i.ink.B, 255})
		switch {
		case i.text != "":
			c.Fill(f.sheet.onCanvas(f.sheet.face(i.bold).outline(i.text, i.size, i.at)))
		case i.width > 0:
			c.SetLineWidth(vg.Length(i.width))
			var dash []vg.Length
			for _, d := range i.dash {
				dash = append(dash, vg.Length(d))
			}
			c.SetLineDash(dash, 0)
			c.Stroke(f.sheet.onCanvas(i.path))
		default:
			c.Fill(f.sheet.onCanvas(i.path))
		}
	}
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: c}).WriteTo(&b); err != nil {
		return err
	}
	_, err := w.Write(stating(b.Bytes(), dpi))
	return err
}

// onCanvas turns a path to a canvas whose origin is at the bottom.
func (s *sheet) onCanvas(p path) vg.Path {
	at := func(q Point) vg.Point { return vg.Point{X: vg.Length(q.X), Y: vg.Length(s.h - q.Y)} }
	var out vg.Path
	for _, t := range p {
		switch t.op {
		case 'M':
			out.Move(at(t.to))
		case 'L':
			out.Line(at(t.to))
		case 'Q':
			out.QuadTo(at(t.c), at(t.to))
		case 'Z':
			out.Close()
		}
	}
	return out
}

// stating puts the resolution into a PNG, after its header of 33 bytes (PNG 11.3.4.3, pHYs).
func stating(png []byte, dpi int) []byte {
	const header = 33
	chunk := []byte{0, 0, 0, 9, 'p', 'H', 'Y', 's'}
	perMetre := uint32(math.Round(float64(dpi) / 0.0254))
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	return append(append(append([]byte{}, png[:header]...), chunk...), png[header:]...)
}
