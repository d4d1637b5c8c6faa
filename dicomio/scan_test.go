package dicomio

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/bmp"
)

// tiffField is a field of a TIFF made up for a test: numbers of kind 3 (2 bytes) or 4, or bytes.
type tiffField struct {
	number, kind uint16
	values       []uint32
}

// tiffOf encodes pages, each its fields and one strip, as a little endian TIFF or BigTIFF.
func tiffOf(big bool, strips [][]byte, fields ...[]tiffField) (b []byte) {
	le := binary.LittleEndian
	word := func(b []byte, v int) []byte {
		if big {
			return le.AppendUint64(b, uint64(v))
		}
		return le.AppendUint32(b, uint32(v))
	}
	b, at := word([]byte("II*\x00"), 0), 4
	if big {
		b, at = word([]byte("II+\x00\x08\x00\x00\x00"), 0), 8
	}
	for i, page := range fields {
		page = append(slices.Clone(page), tiffField{tiffStripOffsets, 4, []uint32{uint32(len(b))}}, tiffField{tiffStripCounts, 4, []uint32{uint32(len(strips[i]))}})
		slices.SortFunc(page, func(a, b tiffField) int { return int(a.number) - int(b.number) })
		b = append(b, strips[i]...)
		var places []int
		for _, f := range page {
			places = append(places, len(b))
			for _, v := range f.values {
				switch f.kind {
				case 7:
					b = append(b, byte(v))
				case 3:
					b = le.AppendUint16(b, uint16(v))
				default:
					b = le.AppendUint32(b, v)
				}
			}
		}
		copy(b[at:], word(nil, len(b)))
		if big {
			b = le.AppendUint64(b, uint64(len(page)))
		} else {
			b = le.AppendUint16(b, uint16(len(page)))
		}
		for j, f := range page {
			n := len(f.values) * int(kindBytes[f.kind])
			b = word(le.AppendUint16(le.AppendUint16(b, f.number), f.kind), len(f.values))
			inline := 4
			if big {
				inline = 8
			}
			if n <= inline {
				b = append(b, append(bytes.Clone(b[places[j]:places[j]+n]), make([]byte, inline-n)...)...)
			} else {
				b = word(b, places[j])
			}
		}
		at = len(b)
		b = word(b, 0)
	}
	return b
}

// page are the fields of a picture of w x h pixels, and more.
func page(w, h, photometric uint32, bits []uint32, more ...tiffField) []tiffField {
	return append([]tiffField{{tiffWidth, 4, []uint32{w}}, {tiffHeight, 4, []uint32{h}}, {tiffBits, 3, bits},
		{tiffPhotometric, 3, []uint32{photometric}}, {tiffSamples, 3, []uint32{uint32(len(bits))}}}, more...)
}

func one(number uint16, v uint32) tiffField { return tiffField{number, 3, []uint32{v}} }

// Each orientation puts the first row and the first column to the edges that TIFF 6.0
// section 8 names, in TIFF, and in JPEG and PNG by Exif.
func TestOrientation(t *testing.T) {
	const w, h = 3, 2
	pix := []byte{10, 20, 30, 40, 50, 60}
	grey := &image.Gray{Pix: bytes.Repeat(pix[:1], 16*16), Stride: 16, Rect: image.Rect(0, 0, 16, 8)}
	for i := range grey.Pix { // halves, so that a lossy picture keeps them
		if i%16 > 7 {
			grey.Pix[i] = 200
		}
	}
	plainJPEG := encodedJPEG(t, grey)
	for o, edges := range map[int][2]string{ // of row 0 and column 0
		1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
		5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"},
	} {
		at := func(r, c, w, h int) (x, y int) {
			for i, edge := range edges {
				n, of := r, h
				if i == 1 {
					n, of = c, w
				}
				switch edge {
				case "top":
					y = n
				case "bottom":
					y = of - 1 - n
				case "left":
					x = n
				case "right":
					x = of - 1 - n
				}
			}
			return x, y
		}
		f, err := decode(tiffOf(false, [][]byte{pix}, page(w, h, tiffBlackIsZero, []uint32{8}, one(tiffOrientation, uint32(o)),
			tiffField{tiffXResolution, 4, []uint32{}})))
		require.NoError(t, err)
		for i, v := range pix {
			x, y := at(i/w, i%w, w, h)
			require.EqualValues(t, v, f.Pixels.Gray16At(x, y).Y, "%d", o)
		}
		require.Equal(t, f.Pixels.Rect.Size(), image.Pt(f.Columns, f.Rows))
		require.Equal(t, o > 1, len(f.Warnings) == 1)

		exif := tiffOf(false, [][]byte{nil}, []tiffField{one(tiffOrientation, uint32(o))})
		segment := append([]byte("Exif\x00\x00"), exif...)
		head := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(segment)+2))
		f, err = decode(slices.Concat(plainJPEG[:2], head, segment, plainJPEG[2:]))
		require.NoError(t, err)
		x, y := at(0, 15, 16, 8)
		require.Greater(t, f.Pixels.Gray16At(x, y).Y, uint16(150), "JPEG %d", o)
		x, y = at(7, 0, 16, 8)
		require.Less(t, f.Pixels.Gray16At(x, y).Y, uint16(50), "JPEG %d", o)

		b := encodedPNG(t, grey)
		chunk := withChecksum(append(append(binary.BigEndian.AppendUint32(nil, uint32(len(exif))), "eXIf"...), append(exif, 0, 0, 0, 0)...))
		f, err = decode(slices.Concat(b[:33], chunk, b[33:]))
		require.NoError(t, err)
		x, y = at(0, 15, 16, 8)
		require.EqualValues(t, 200, f.Pixels.Gray16At(x, y).Y, "PNG %d", o)
	}
	f, err := decode(tiffOf(false, [][]byte{pix}, page(w, h, tiffBlackIsZero, []uint32{8}, one(tiffOrientation, 9))))
	require.NoError(t, err)
	require.Equal(t, []string{"orientation is 9, not 1 to 8: taken as it lies in the file"}, said(f.Warnings))
}

// A picture stored in colours that are all grey is read as grey, and it is said; one colour
// refuses it.
func TestGreyInColours(t *testing.T) {
	r := image.Rect(0, 0, 16, 16)
	draw := func(img interface{ Set(x, y int, c color.Color) }, red uint8) {
		for y := range 16 {
			for x := range 16 {
				img.Set(x, y, color.Gray{uint8(5 * (x + y))})
			}
		}
		if red > 0 {
			for x := range 16 {
				img.Set(x, 3, color.RGBA{red, 0, 0, 255})
			}
		}
	}
	rgb := func(red uint8) []byte {
		img := image.NewRGBA(r)
		draw(img, red)
		var out []byte
		for i := 0; i < len(img.Pix); i += 4 {
			out = append(out, img.Pix[i:i+3]...)
		}
		return out
	}
	palette := func(tint uint32) (index []byte, colours []uint32) {
		for p := range 3 {
			for i := range uint32(256) {
				v := 257 * (255 - i)
				if p == 2 {
					v = max(v, tint)
				}
				colours = append(colours, v)
			}
		}
		for i := range 256 {
			index = append(index, byte(255-5*(i%16+i/16)))
		}
		return index, colours
	}
	for name, c := range map[string]struct {
		make func(colour bool) []byte
		near int
	}{
		"PNG": {func(colour bool) []byte {
			img := image.NewNRGBA(r)
			draw(img, map[bool]uint8{true: 200}[colour])
			return encodedPNG(t, img)
		}, 0},
		"PNG of a palette": {func(colour bool) []byte {
			colours := color.Palette{}
			for i := range 256 {
				colours = append(colours, color.RGBA{uint8(i), uint8(i), uint8(i), 255})
			}
			if colour {
				colours[7] = color.RGBA{200, 0, 0, 255}
			}
			img := image.NewPaletted(r, colours)
			draw(img, map[bool]uint8{true: 200}[colour])
			return encodedPNG(t, img)
		}, 0},
		"JPEG": {func(colour bool) []byte {
			img := image.NewRGBA(r)
			draw(img, map[bool]uint8{true: 200}[colour])
			var b bytes.Buffer
			require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}))
			return b.Bytes()
		}, 4},
		"BMP": {func(colour bool) []byte {
			img := image.NewRGBA(r)
			draw(img, map[bool]uint8{true: 200}[colour])
			var b bytes.Buffer
			require.NoError(t, bmp.Encode(&b, img))
			return b.Bytes()
		}, 0},
		"TIFF": {func(colour bool) []byte {
			return tiffOf(false, [][]byte{rgb(map[bool]uint8{true: 200}[colour])}, page(16, 16, tiffRGB, []uint32{8, 8, 8}))
		}, 0},
		"TIFF of a palette": {func(colour bool) []byte {
			index, colours := palette(map[bool]uint32{true: 60000}[colour])
			return tiffOf(true, [][]byte{index}, page(16, 16, tiffPalette, []uint32{8}, tiffField{tiffColorMap, 3, colours}))
		}, 0},
		"DICOM": {func(colour bool) []byte { return colourDICOM("RGB", 0, rgb(map[bool]uint8{true: 200}[colour])) }, 0},
		"DICOM in planes": {func(colour bool) []byte {
			in := rgb(map[bool]uint8{true: 200}[colour])
			var out []byte
			for p := range 3 {
				for i := p; i < len(in); i += 3 {
					out = append(out, in[i])
				}
			}
			return colourDICOM("RGB", 1, out)
		}, 0},
		"DICOM of a palette": {func(colour bool) []byte {
			le := binary.LittleEndian
			index, _ := palette(0)
			els := image16(le, 16, 16, 8, 8, 7, 0, "PALETTE COLOR")
			for p := range uint32(3) {
				els = append(els, el{0x00281101 + p, "US", []byte{0, 1, 0, 0, 8, 0}})
			}
			for p := range uint32(3) {
				var data []byte
				for i := range 256 {
					data = append(data, byte(255-i))
				}
				if colour && p == 2 {
					data[7] = 1
				}
				els = append(els, el{0x00281201 + p, "OW", data})
			}
			return dicomFile(explicitLittle, dataSet(le, false, append(els, el{pixelDataTag, "OB", index})...))
		}, 0},
		"DICOM of YBR": {func(colour bool) []byte {
			in := rgb(0)
			for i := 0; i < len(in); i += 3 {
				in[i+1], in[i+2] = 128, 128
			}
			if colour {
				in[1] = 90
			}
			return colourDICOM("YBR_FULL", 0, in)
		}, 0},
		"DICOM of YBR by halves": {func(colour bool) []byte {
			in := rgb(0)
			var out []byte
			for i := 0; i < len(in); i += 6 {
				out = append(out, in[i], in[i+3], 128, 128)
			}
			if colour {
				out[2] = 90
			}
			return colourDICOM("YBR_FULL_422", 0, out)
		}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := decode(c.make(false))
			require.NoError(t, err)
			for i := range 256 {
				require.InDelta(t, 5*(i%16+i/16), f.Pixels.Gray16At(i%16, i/16).Y, float64(c.near))
			}
			assert.Contains(t, said(f.Warnings), "the picture is stored in colours, all of them grey: read as grey")
			assert.Equal(t, []any{8, "MONOCHROME2"}, []any{f.Bits, f.Photometric})
			_, err = decode(c.make(true))
			require.ErrorIs(t, err, ErrUnsupported)
			assert.ErrorContains(t, err, "as plain grey")
		})
	}
}

// colourDICOM is a film of 16 x 16 pixels of three samples.
func colourDICOM(photometric string, planes uint16, pixels []byte) []byte {
	le := binary.LittleEndian
	els := image16(le, 16, 16, 8, 8, 7, 0, photometric)
	els[0] = short(0x00280002, le, 3)
	els = slices.Insert(els, 2, short(0x00280006, le, planes))
	return dicomFile(explicitLittle, dataSet(le, false, append(els, el{pixelDataTag, "OB", pixels})...))
}

// Pages are frames; smaller copies of a page are passed over. A BigTIFF is read alike.
func TestTIFFPages(t *testing.T) {
	for _, big := range []bool{false, true} {
		strips := [][]byte{{1, 2}, {9}, {3, 4}}
		b := tiffOf(big, strips, page(2, 1, tiffBlackIsZero, []uint32{8}),
			page(1, 1, tiffBlackIsZero, []uint32{8}, one(tiffSubfile, tiffSmaller)),
			page(1, 2, tiffWhiteIsZero, []uint32{8}))
		path := file(t, "a.tif", b)
		for n, want := range map[int][]uint16{1: {1, 2}, 2: {252, 251}} {
			f, err := OpenFrame(path, n)
			require.NoError(t, err)
			require.Equal(t, []int{2, n, 2}, []int{f.Frames, f.Frame, f.Films()})
			require.Equal(t, want[0], f.Pixels.Gray16At(0, 0).Y)
			require.Equal(t, want[1], f.Pixels.Gray16At(f.Columns-1, f.Rows-1).Y)
		}
		_, err := OpenFrame(path, 3)
		require.ErrorContains(t, err, "no frame 3 of 2")
		seen, err := Inspect(path)
		require.NoError(t, err)
		require.Equal(t, 2, seen.Films())
	}
}

// A chain of directories that comes back to itself ends there.
func TestTIFFPagesInACircle(t *testing.T) {
	b := tiffOf(false, [][]byte{{1, 2}}, page(2, 1, tiffBlackIsZero, []uint32{8}))
	copy(b[len(b)-4:], b[4:8])
	f, err := decode(b)
	require.NoError(t, err)
	require.Equal(t, 1, f.Frames)
}

// JPEG within TIFF: strips with and without tables of their own.
func TestJPEGInTIFF(t *testing.T) {
	grey := image.NewGray(image.Rect(0, 0, 24, 16))
	for i := range grey.Pix {
		grey.Pix[i] = byte(i / 2)
	}
	whole := encodedJPEG(t, grey)
	img, err := jpeg.Decode(bytes.NewReader(whole))
	require.NoError(t, err)
	at := bytes.Index(whole, []byte{0xFF, 0xC0}) // tables of the encoder stand before and after the frame's head
	tables := slices.Concat(whole[:at], []byte{0xFF, 0xD9})
	for name, b := range map[string][]byte{
		"whole": tiffOf(false, [][]byte{whole}, page(24, 16, tiffBlackIsZero, []uint32{8}, one(tiffCompression, tiffJPEG))),
		"tables elsewhere": tiffOf(true, [][]byte{slices.Concat(whole[:2], whole[at:])}, page(24, 16, tiffBlackIsZero, []uint32{8},
			one(tiffCompression, tiffJPEG), tiffField{tiffJPEGTables, 7, asNumbers(tables)})),
	} {
		f, err := decode(b)
		require.NoError(t, err, name)
		require.True(t, f.Lossy)
		for i, v := range img.(*image.Gray).Pix {
			require.EqualValues(t, v, f.Pixels.Gray16At(i%24, i/24).Y, name)
		}
	}
	_, err = decode(tiffOf(false, [][]byte{whole}, page(24, 9, tiffBlackIsZero, []uint32{8}, one(tiffCompression, tiffJPEG))))
	require.ErrorContains(t, err, "block of more than its 24 x 9 pixels")
}

func asNumbers(b []byte) (out []uint32) {
	for _, v := range b {
		out = append(out, uint32(v))
	}
	return out
}

// A JPEG 2000 file is the film of its codestream, which OpenJPEG made.
func TestJP2Scan(t *testing.T) {
	for name, bits := range map[string]int{"opj-12.jp2": 12, "gdcm-12.j2k": 16, "gdcm-8.j2k": 8} {
		b, err := os.ReadFile("codec/jpeg2000/testdata/" + name)
		require.NoError(t, err)
		path := file(t, name, b)
		f, err := Open(path)
		require.NoError(t, err)
		require.Equal(t, []any{"JPEG 2000", bits, false}, []any{f.Format, f.Bits, f.Lossy})
		seen, err := Inspect(path)
		require.NoError(t, err)
		require.Equal(t, []int{f.Rows, f.Columns}, []int{seen.Rows, seen.Columns})
		require.True(t, MayBeFilm(path))
		for cut := range len(b) / 2 {
			_, err := decode(bytes.Clone(b[:cut]))
			require.Error(t, err)
		}
	}
	require.Equal(t, [2]float64{0.1, 0.2}, captured([]byte{0, 100, 0, 1, 0, 50, 0, 1, 2, 2}))
	require.Zero(t, captured(make([]byte, 10)))
}

// Two bytes make no BMP.
func TestBMPIsTold(t *testing.T) {
	require.False(t, isBMP([]byte("BMI of patients, 2012-2016")))
	_, err := decode([]byte("BMI of patients, 2012-2016"))
	require.ErrorContains(t, err, "neither DICOM")
}

// A film in colours that are grey comes out of de-identification as one in grey.
func TestDeidentifyGreyInColours(t *testing.T) {
	b := colourDICOM("RGB", 0, bytes.Repeat([]byte{7, 7, 7, 9, 9, 9}, 128))
	at := bytes.Index(b, []byte("\x28\x00\x02\x00US"))
	b = slices.Concat(b[:at], dataSet(binary.LittleEndian, false, text(0x00080018, "UI", "2.25.1"), text(0x00100020, "LO", "P")), b[at:])
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	out, _, err := d.film(b)
	require.NoError(t, err)
	f, err := decode(out)
	require.NoError(t, err)
	require.Empty(t, said(f.Warnings))
	require.Equal(t, []int{7, 9, 8}, []int{f.Stored(0, 0), f.Stored(1, 0), f.Bits})
}
