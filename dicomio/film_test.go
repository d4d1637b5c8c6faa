package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noise is a film of random stored values that states everything.
func noise(rows, columns, bits int) *Film {
	r := rand.New(rand.NewPCG(1, uint64(bits)))
	img := image.NewGray16(image.Rect(0, 0, columns, rows))
	for i := 0; i < len(img.Pix); i += 2 {
		binary.BigEndian.PutUint16(img.Pix[i:], uint16(r.Uint32())&mask(bits))
	}
	return &Film{
		Pixels: img, Bits: bits, Photometric: "MONOCHROME2", PatientCode: "LW-0007",
		Date: time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC), DateSource: "acquisition",
		Laterality: "R", View: "AP", Orientation: [2]string{"L", "F"},
		Geometry: Geometry{
			Imager: [2]float64{0.15, 0.15}, Pixel: [2]float64{0.1304347826087, 0.1304347826087}, PixelKind: "GEOMETRY",
			SourceImage: 1150, SourcePatient: 1000, Magnification: 1.15,
		},
	}
}

// encoded is f as Write writes it.
func encoded(t testing.TB, f *Film) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, f))
	return b.Bytes()
}

// file puts b into a file of its own folder.
func file(t testing.TB, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, b, 0o600))
	return path
}

// el is an element of a file made up for a test.
type el struct {
	tag   uint32
	vr    string
	value []byte
}

func text(tag uint32, vr, s string) el { return el{tag, vr, []byte(s)} }

func short(tag uint32, order binary.AppendByteOrder, v uint16) el {
	return el{tag, "US", order.AppendUint16(nil, v)}
}

// dataSet encodes elements without preamble or meta information.
func dataSet(order binary.AppendByteOrder, implicit bool, els ...el) (b []byte) {
	for _, e := range els {
		value := e.value
		if len(value)%2 == 1 {
			value = append(bytes.Clone(value), ' ')
		}
		b = order.AppendUint16(b, uint16(e.tag>>16))
		b = order.AppendUint16(b, uint16(e.tag))
		switch {
		case implicit:
			b = order.AppendUint32(b, uint32(len(value)))
		case known[[2]byte{e.vr[0], e.vr[1]}].long:
			b = order.AppendUint32(append(append(b, e.vr...), 0, 0), uint32(len(value)))
		default:
			b = order.AppendUint16(append(b, e.vr...), uint16(len(value)))
		}
		b = append(b, value...)
	}
	return b
}

// dicomFile puts preamble and meta information before a data set.
func dicomFile(syntax string, set []byte) []byte { return append(appendMeta(nil, syntax, nil), set...) }

// image16 are the elements of the image pixel module.
func image16(order binary.AppendByteOrder, rows, columns, allocated, stored, high, representation uint16, photometric string) []el {
	return []el{
		short(0x00280002, order, 1), text(0x00280004, "CS", photometric),
		short(0x00280010, order, rows), short(0x00280011, order, columns),
		short(0x00280100, order, allocated), short(0x00280101, order, stored), short(0x00280102, order, high),
		short(0x00280103, order, representation),
	}
}

func TestWrittenFilmComesBackBitForBit(t *testing.T) {
	for _, bits := range []int{8, 10, 12, 15, 16} {
		for _, photometric := range []string{"MONOCHROME1", "MONOCHROME2"} {
			for _, signed := range []bool{false, true} {
				t.Run(fmt.Sprint(bits, photometric, signed), func(t *testing.T) {
					f := noise(7, 5, bits)
					f.Photometric, f.Signed = photometric, signed
					got, err := Open(file(t, "a.dcm", encoded(t, f)))
					require.NoError(t, err)
					want := *f
					want.Path, want.SHA256, want.Key = got.Path, got.SHA256, got.Key
					want.Format, want.TransferSyntax, want.Modality = "DICOM", explicitLittle, "DX"
					want.Rows, want.Columns, want.Frames, want.Frame = 7, 5, 1, 1
					want.Greys, want.BurnedIn = got.Greys, "NO"
					want.Allocated, want.HighBit, want.CharacterSets = 16, bits-1, []string{"ISO_IR 192"}
					want.Dates = []Dated{{f.Date, "acquisition"}, {f.Date, "study"}}
					assert.Equal(t, &want, got)
					assert.Len(t, got.SHA256, 64)
				})
			}
		}
	}
}

func TestWrittenFilmIsTheSameEachTime(t *testing.T) {
	a, b := encoded(t, noise(7, 5, 12)), encoded(t, noise(7, 5, 12))
	assert.Equal(t, a, b)
	other := noise(7, 5, 12)
	other.Pixels.Pix[1] ^= 1
	assert.NotEqual(t, a[:len(a)-70], encoded(t, other)[:len(a)-70], "UIDs follow the pixels")
}

func TestFilmThatCannotBeWritten(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Film)
		says   string
	}{
		"no pixels":   {func(f *Film) { f.Pixels = nil }, "without pixels"},
		"no bits":     {func(f *Film) { f.Bits = 0 }, "0 bits stored"},
		"colour":      {func(f *Film) { f.Photometric = "RGB" }, `"RGB"`},
		"value range": {func(f *Film) { f.Bits = 8 }, "in a film of 8 bits"},
	} {
		t.Run(name, func(t *testing.T) {
			f := noise(4, 4, 12)
			c.change(f)
			path := filepath.Join(t.TempDir(), "out.dcm")
			err := WriteFile(path, f)
			assert.ErrorContains(t, err, c.says)
			assert.Equal(t, 1, strings.Count(err.Error(), "dicomio"))
			assert.ErrorContains(t, f.WriteStoredPNG(&bytes.Buffer{}), c.says)
			left, err := os.ReadDir(filepath.Dir(path))
			require.NoError(t, err)
			assert.Empty(t, left, "nothing is left behind")
		})
	}
}

// The four ways a stored value becomes grey, worked by hand for 12 bits up to
// bit 13 of 16: the two bits below and above are not part of the value.
func TestStoredValues(t *testing.T) {
	for name, c := range map[string]struct {
		photometric    string
		representation uint16
		grey           uint16
		stored         int
	}{
		"MONOCHROME2":        {"MONOCHROME2", 0, 0x801, 0x801},
		"MONOCHROME1":        {"MONOCHROME1", 0, 0x7FE, 0x801},
		"MONOCHROME2 signed": {"MONOCHROME2", 1, 0x001, -2047},
		"MONOCHROME1 signed": {"MONOCHROME1", 1, 0xFFE, -2047},
	} {
		t.Run(name, func(t *testing.T) {
			le := binary.LittleEndian
			els := image16(le, 3, 3, 16, 12, 13, c.representation, c.photometric)
			els = append(els, el{0x7FE00010, "OW", bytes.Repeat(le.AppendUint16(nil, 0xC003|0x801<<2), 9)})
			f, err := decode(dicomFile(explicitLittle, dataSet(le, false, els...)))
			require.NoError(t, err)
			for y := range 3 {
				for x := range 3 {
					assert.Equal(t, c.grey, f.Pixels.Gray16At(x, y).Y)
					assert.Equal(t, c.stored, f.Stored(x, y))
				}
			}
			var b bytes.Buffer
			require.NoError(t, f.WriteStoredPNG(&b))
			back, err := decode(b.Bytes())
			require.NoError(t, err)
			assert.Equal(t, uint16(c.stored), back.Pixels.Gray16At(1, 1).Y)
		})
	}
}

// The same film in every uncompressed form.
func TestForms(t *testing.T) {
	for name, c := range map[string]struct {
		order    binary.AppendByteOrder
		implicit bool
		head     func(set []byte) []byte
	}{
		"explicit little endian":    {binary.LittleEndian, false, func(s []byte) []byte { return dicomFile(explicitLittle, s) }},
		"implicit little endian":    {binary.LittleEndian, true, func(s []byte) []byte { return dicomFile(implicitLittle, s) }},
		"no preamble, big endian":   {binary.BigEndian, false, func(s []byte) []byte { return s }},
		"implicit against its meta": {binary.LittleEndian, true, func(s []byte) []byte { return dicomFile(explicitLittle, s) }},
		"explicit big endian":       {binary.BigEndian, false, func(s []byte) []byte { return dicomFile("1.2.840.10008.1.2.2", s) }},
		"no meta, explicit":         {binary.LittleEndian, false, func(s []byte) []byte { return append(dicomFile("", nil)[:132], s...) }},
		"no preamble, implicit":     {binary.LittleEndian, true, func(s []byte) []byte { return s }},
		"no preamble, explicit":     {binary.LittleEndian, false, func(s []byte) []byte { return s }},
		"no preamble, with meta":    {binary.LittleEndian, false, func(s []byte) []byte { return dicomFile(explicitLittle, s)[132:] }},
		"padding after the pixels": {binary.LittleEndian, false, func(s []byte) []byte {
			return append(dicomFile(explicitLittle, s), 0xFC, 0xFF, 0xFC, 0xFF, 'O', 'B', 0, 0, 2, 0, 0, 0, 0, 0)
		}},
	} {
		for _, allocated := range []uint16{8, 16} {
			t.Run(fmt.Sprint(name, allocated), func(t *testing.T) {
				els := []el{text(0x00080060, "CS", "CR"), text(0x00100020, "LO", "LW-0042"), text(0x00181164, "DS", `0.1\0.1`)}
				els = append(els, image16(c.order, 2, 3, allocated, 8, 7, 0, "MONOCHROME2")...)
				pix := []byte{1, 2, 3, 4, 5, 250}
				if allocated == 16 {
					var wide []byte
					for _, v := range pix {
						wide = c.order.AppendUint16(wide, uint16(v))
					}
					pix = wide
				}
				els = append(els, el{0x7FE00010, "OB", pix})
				if allocated == 16 {
					els[len(els)-1].vr = "OW"
				}
				path := file(t, "a", c.head(dataSet(c.order, c.implicit, els...)))
				f, err := Open(path)
				require.NoError(t, err)
				for i, v := range []uint16{1, 2, 3, 4, 5, 250} {
					assert.Equal(t, v, f.Pixels.Gray16At(i%3, i/3).Y)
				}
				assert.Equal(t, "LW-0042", f.PatientCode)
				assert.Equal(t, [2]float64{0.1, 0.1}, f.Geometry.Imager)
				seen, err := Inspect(path)
				require.NoError(t, err)
				f.Pixels, f.SHA256, f.Key = nil, "", ""
				assert.Equal(t, f, seen)
			})
		}
	}
}

func TestSequencesAreStepped(t *testing.T) {
	le := binary.LittleEndian
	item := func(n uint32, inner ...byte) []byte {
		return append(le.AppendUint32([]byte{0xFE, 0xFF, 0x00, 0xE0}, n), inner...)
	}
	endItem, endSequence := []byte{0xFE, 0xFF, 0x0D, 0xE0, 0, 0, 0, 0}, []byte{0xFE, 0xFF, 0xDD, 0xE0, 0, 0, 0, 0}
	open := func(tag uint32, vr string, inner ...[]byte) []byte {
		return append(appendHead(nil, tag, vr, undefined), bytes.Join(inner, nil)...)
	}
	code := dataSet(le, false, text(0x00080100, "SH", "12"))
	implicit := dataSet(le, true, text(0x00080100, "SH", "12"))
	for name, sequence := range map[string][]byte{
		"empty":             open(0x00082218, "SQ", endSequence),
		"items with length": open(0x00082218, "SQ", item(uint32(len(code)), code...), endSequence),
		"items without":     open(0x00082218, "SQ", item(undefined), code, endItem, item(undefined), code, endItem, endSequence),
		"nested": open(0x00082218, "SQ", item(undefined), open(0x00082220, "SQ", item(undefined), code, endItem, endSequence),
			endItem, endSequence),
		"unknown, implicit inside": open(0x00091001, "UN", item(undefined), implicit, endItem, endSequence),
		"icon in fragments": open(0x00880200, "SQ", item(undefined), open(0x7FE00010, "OB", item(0), item(2, 9, 9), endSequence),
			endItem, endSequence),
	} {
		t.Run(name, func(t *testing.T) {
			els := append(image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2"), el{0x7FE00010, "OW", []byte{5, 1}})
			set := append(sequence, dataSet(le, false, els...)...)
			f, err := decode(dicomFile(explicitLittle, set))
			require.NoError(t, err)
			assert.EqualValues(t, 0x105, f.Pixels.Gray16At(0, 0).Y)
		})
	}
}

func TestFrames(t *testing.T) {
	le := binary.LittleEndian
	els := append(image16(le, 1, 2, 16, 16, 15, 0, "MONOCHROME2"), el{0x7FE00010, "OW", []byte{1, 0, 2, 0, 3, 0, 4, 0}})
	els = append([]el{text(0x00280008, "IS", "2 ")}, els...)
	path := file(t, "a.dcm", dicomFile(explicitLittle, dataSet(le, false, els...)))
	for frame, want := range [][]byte{1: {0, 1, 0, 2}, 2: {0, 3, 0, 4}} {
		if frame == 0 {
			continue
		}
		f, err := OpenFrame(path, frame)
		require.NoError(t, err)
		assert.Equal(t, []int{frame, 2}, []int{f.Frame, f.Frames})
		assert.Equal(t, want, f.Pixels.Pix)
	}
	_, err := OpenFrame(path, 3)
	assert.EqualError(t, err, "dicomio: "+path+": no frame 3 of 2")
}

func TestStatements(t *testing.T) {
	date := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	var warnings []string // wanted besides
	for name, c := range map[string]struct {
		els  []el
		want func(*Film)
	}{
		"acquisition before study": {[]el{text(0x00080020, "DA", "20040503"), text(0x00080022, "DA", "20040504")},
			func(f *Film) { f.Date, f.DateSource = date(2004, 5, 4), "acquisition" }},
		"acquisition date and time": {[]el{text(0x00080020, "DA", "20040503"), text(0x0008002A, "DT", "20040505101112.5+0100")},
			func(f *Film) { f.Date, f.DateSource = date(2004, 5, 5), "acquisition" }},
		"study": {[]el{text(0x00080020, "DA", "20040503"), text(0x00080023, "DA", "20060101")},
			func(f *Film) { f.Date, f.DateSource = date(2004, 5, 3), "study" }},
		"content, old form": {[]el{text(0x00080023, "DA", "2004.05.03")},
			func(f *Film) { f.Date, f.DateSource = date(2004, 5, 3), "content" }},
		"bad date passed over": {[]el{text(0x00080020, "DA", "20040503"), text(0x00080022, "DA", "20043199")},
			func(f *Film) {
				f.Date, f.DateSource = date(2004, 5, 3), "study"
				warnings = []string{`Acquisition Date (0008,0022) is "20043199", not a date`}
			}},
		"image laterality first":   {[]el{text(0x00200060, "CS", "L"), text(0x00200062, "CS", "R")}, func(f *Film) { f.Laterality = "R" }},
		"laterality of the series": {[]el{text(0x00200060, "CS", "L"), text(0x00200062, "CS", "U")}, func(f *Film) { f.Laterality = "L" }},
		"scales": {[]el{text(0x00181110, "DS", "1150"), text(0x00181111, "DS", "0"), text(0x00181164, "DS", `.2\.1`), text(0x00280030, "DS", `0.09\9e-2`)},
			func(f *Film) {
				f.Geometry = Geometry{Imager: [2]float64{0.2, 0.1}, Pixel: [2]float64{0.09, 0.09}, SourceImage: 1150}
				warnings = []string{"Imager Pixel Spacing (0018,1164) says that pixels are 2 times as high as wide, the spacing in use 1: the latter counts"}
			}},
		"scale that is none": {[]el{text(0x00181164, "DS", `NaN\1`), text(0x00280030, "DS", "0.1")},
			func(f *Film) {
				warnings = []string{`Imager Pixel Spacing (0018,1164) is "NaN\\1", not two lengths`, `Pixel Spacing (0028,0030) is "0.1", not two lengths`}
			}},
		"aspect ratio alone": {[]el{text(0x00280034, "IS", `4\3`)},
			func(f *Film) {
				f.Geometry.Ratio = [2]float64{4, 3}
				warnings = []string{"pixels are not square: row spacing over column spacing is 1.333"}
			}},
		"burned in": {[]el{text(0x00280301, "CS", "YES")}, func(f *Film) { f.BurnedIn = "YES" }},
		"oblong pixels": {[]el{text(0x00181164, "DS", `0.2\0.1`)},
			func(f *Film) {
				f.Geometry.Imager = [2]float64{0.2, 0.1}
				warnings = []string{"pixels are not square: row spacing over column spacing is 2"}
			}},
		"unprintable code": {[]el{text(0x00100020, "LO", "A\x1b[2JB\x07\xe9")}, func(f *Film) { f.PatientCode = "A\uFFFD[2JB?é" }},
	} {
		t.Run(name, func(t *testing.T) {
			le := binary.LittleEndian
			var all []el
			added := false
			for _, e := range c.els {
				if e.tag > 0x00280010 && !added {
					all, added = append(all, image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2")...), true
				}
				all = append(all, e)
			}
			if !added {
				all = append(all, image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2")...)
			}
			all = append(all, el{0x7FE00010, "OW", []byte{0, 0}})
			f, err := decode(dicomFile(explicitLittle, dataSet(le, false, all...)))
			require.NoError(t, err)
			want := &Film{Format: "DICOM", Pixels: f.Pixels, Rows: 1, Columns: 1, Frames: 1, Frame: 1, Bits: 12, Allocated: 16, HighBit: 11,
				Photometric: "MONOCHROME2", TransferSyntax: explicitLittle, Dates: f.Dates, // of which TestFacts tells more
				Warnings: f.Warnings}
			warnings = nil
			c.want(want)
			assert.Equal(t, warnings, said(f.Warnings))
			assert.Equal(t, want, f)
		})
	}
}

func TestSpacing(t *testing.T) {
	a, b, c := [2]float64{0.1, 0.1}, [2]float64{0.2, 0.2}, [2]float64{0.3, 0.3}
	for name, k := range map[string]struct {
		g    Geometry
		mm   float64
		kind string
	}{
		"nothing":                      {Geometry{}, 0, ""},
		"imager":                       {Geometry{Imager: a}, 0.1, "imager"},
		"imager repeated as pixel":     {Geometry{Imager: a, Pixel: a}, 0.1, "imager"},
		"pixel differs: calibrated":    {Geometry{Imager: a, Pixel: b}, 0.2, "pixel"},
		"pixel with calibration type":  {Geometry{Imager: a, Pixel: a, PixelKind: "FIDUCIAL"}, 0.1, "pixel"},
		"pixel alone":                  {Geometry{Pixel: b, Scan: c}, 0.2, "pixel"},
		"scan":                         {Geometry{Scan: c}, 0.3, "scan"},
		"kind without pixel is no use": {Geometry{Imager: a, PixelKind: "GEOMETRY"}, 0.1, "imager"},
	} {
		t.Run(name, func(t *testing.T) {
			mm, kind := k.g.Spacing()
			assert.Equal(t, k.mm, mm)
			assert.Equal(t, k.kind, kind)
		})
	}
	assert.Equal(t, 2.0, Geometry{Imager: [2]float64{0.2, 0.1}}.Aspect())
	assert.Equal(t, 1.0, Geometry{}.Aspect())
}

// said returns the texts of warnings.
func said(warnings []*Fault) (out []string) {
	for _, w := range warnings {
		out = append(out, w.Error())
	}
	return out
}
