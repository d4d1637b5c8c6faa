package dicomio

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/bmp"
	"golang.org/x/image/tiff"
)

// allocated returns the bytes that do allocates, freed or not.
func allocated(do func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// slack is what opening any file may allocate besides its bytes and pixels: the header,
// its parser, the message, and buffers of the standard library's pools, which the race
// detector empties at random.
const slack = 512 << 10

// change returns a copy of b with the value of an element of a written film replaced.
func change(t testing.TB, b []byte, tag uint32, value ...byte) []byte {
	t.Helper()
	b = bytes.Clone(b)
	at := bytes.Index(b, appendHead(nil, tag, "US", 2))
	require.Positive(t, at)
	copy(b[at+8:], value)
	return b
}

// relength returns a copy of b with the length of the pixel data replaced.
func relength(t testing.TB, b []byte, n uint32) []byte {
	t.Helper()
	b = bytes.Clone(b)
	at := bytes.Index(b, []byte{0xE0, 0x7F, 0x10, 0x00, 'O', 'W'})
	require.Positive(t, at)
	binary.LittleEndian.PutUint32(b[at+8:], n)
	return b
}

func encodedPNG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	return b.Bytes()
}

func encodedJPEG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, nil))
	return b.Bytes()
}

func encodedTIFF(t testing.TB, img image.Image, o *tiff.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, tiff.Encode(&b, img, o))
	return b.Bytes()
}

func encodedBMP(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, bmp.Encode(&b, img))
	return b.Bytes()
}

// field returns a copy of a little endian TIFF with a field of its directory replaced.
func field(t testing.TB, b []byte, number, kind uint16, value uint32) []byte {
	t.Helper()
	b = bytes.Clone(b)
	d := b[binary.LittleEndian.Uint32(b[4:]):]
	for e := d[2:]; len(e) >= 12; e = e[12:] {
		if binary.LittleEndian.Uint16(e) == number {
			binary.LittleEndian.PutUint16(e[2:], kind)
			binary.LittleEndian.PutUint32(e[4:], 1)
			binary.LittleEndian.PutUint32(e[8:], value)
			return b
		}
	}
	t.Fatalf("no field %d", number)
	return nil
}

// badFile is a file that is refused, with the kind of its error, nil where it is not, and
// what that says.
type badFile struct {
	b    []byte
	kind error
	says string
}

func badFiles(t *testing.T) map[string]badFile {
	t.Helper()
	le := binary.LittleEndian
	good := encoded(t, noise(40, 30, 12))
	grey := image.NewGray16(image.Rect(0, 0, 30, 20))
	pngFile := encodedPNG(t, grey)
	huge := func(at int) []byte {
		b := bytes.Clone(pngFile)
		binary.BigEndian.PutUint32(b[16:], 65535)
		binary.BigEndian.PutUint32(b[20:], 65535)
		return b[:at]
	}
	tiffFile := encodedTIFF(t, grey, nil)
	bloated := encodedTIFF(t, image.NewGray16(image.Rect(0, 0, 3000, 3000)), &tiff.Options{Compression: tiff.Deflate})
	packed := encodedTIFF(t, grey, &tiff.Options{Compression: tiff.Deflate})
	jpegFile := encodedJPEG(t, image.NewGray(grey.Rect))
	noisy := make([]byte, 4096)
	r := rand.New(rand.NewPCG(5, 5))
	for i := range noisy {
		noisy[i] = byte(r.Uint32())
	}
	deep := bytes.Repeat(append(appendHead(nil, 0x00082218, "SQ", undefined), 0xFE, 0xFF, 0x00, 0xE0, 0xFF, 0xFF, 0xFF, 0xFF), 50_000)
	many := bytes.Repeat(appendHead(nil, 0x00080000, "LO", 0), maxElements+1)
	compressed := func(uid string) []byte {
		els := image16(le, 40, 30, 16, 12, 11, 0, "MONOCHROME2")
		set := appendHead(dataSet(le, false, els...), pixelDataTag, "OB", undefined)
		set = append(set, 0xFE, 0xFF, 0x00, 0xE0, 0, 0, 0, 0, 0xFE, 0xFF, 0xDD, 0xE0, 0, 0, 0, 0)
		return dicomFile(uid, set)
	}
	cut := func(name string, n int) []byte {
		b, err := os.ReadFile(filepath.Join("testdata", name))
		require.NoError(t, err)
		return b[:len(b)-n]
	}
	bomb := func(set []byte) []byte {
		var b bytes.Buffer
		b.Write(dicomFile("1.2.840.10008.1.2.1.99", nil))
		z, err := flate.NewWriter(&b, 9)
		require.NoError(t, err)
		_, err = z.Write(set)
		require.NoError(t, err)
		require.NoError(t, z.Close())
		return b.Bytes()
	}
	report := dataSet(le, false, text(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.88.11"))

	return map[string]badFile{
		"empty":                   {nil, ErrMalformed, "the file is empty"},
		"one byte":                {[]byte{8}, ErrUnsupported, "neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP"},
		"random":                  {noisy, ErrUnsupported, "neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP"},
		"PDF":                     {[]byte("%PDF-1.7\n"), ErrUnsupported, "PDF, not a film"},
		"ZIP":                     {[]byte("PK\x03\x04"), ErrUnsupported, "ZIP, not a film"},
		"BigTIFF":                 {[]byte("II+\x00\x08\x00\x00\x00"), ErrMalformed, "TIFF without a directory"},
		"meta only":               {dicomFile(explicitLittle, nil), ErrMalformed, "ends inside the head of an element"},
		"random after DICM":       {append(bytes.Clone(good[:132]), noisy...), ErrMalformed, ""},
		"cut in the header":       {good[:500], ErrMalformed, ""},
		"cut in the pixels":       {good[:len(good)-1], ErrMalformed, "truncated: 2399 of 2400 bytes of pixel data are there"},
		"cut before the pixels":   {good[:len(good)-2412], ErrMalformed, "no pixel data"},
		"pixel length forged":     {relength(t, good, 0xFFFFFFFE), nil, ""},
		"pixel length too small":  {relength(t, good, 2000), ErrMalformed, "need 2400 bytes, the pixel data has 2000"},
		"pixel length undefined":  {relength(t, good, undefined), ErrMalformed, "has no length"},
		"no rows":                 {change(t, good, 0x00280010, 0, 0), ErrMalformed, "0 rows x 30 columns"},
		"65535 rows":              {change(t, good, 0x00280010, 0xFF, 0xFF), ErrMalformed, "need 3932100 bytes"},
		"65535 x 65535":           {change(t, change(t, good, 0x00280010, 0xFF, 0xFF), 0x00280011, 0xFF, 0xFF), ErrUnsupported, "65535 rows x 65535 columns are more than 128 megapixels"},
		"bits stored":             {change(t, good, 0x00280101, 17, 0), ErrMalformed, "17 bits stored"},
		"no bits stored":          {change(t, good, 0x00280101, 0, 0), ErrMalformed, "0 bits stored"},
		"high bit":                {change(t, good, 0x00280102, 3, 0), ErrMalformed, "12 bits stored up to bit 3"},
		"32 bits":                 {change(t, good, 0x00280100, 32, 0), ErrUnsupported, "32 bits allocated"},
		"three samples":           {change(t, good, 0x00280002, 3, 0), ErrUnsupported, "colour"},
		"unknown VR":              {bytes.Replace(good, []byte("\x20\x00\x62\x00CS"), []byte("\x20\x00\x62\x00ZZ"), 1), ErrMalformed, `unknown value representation "ZZ"`},
		"length of a value":       {bytes.Replace(good, []byte("\x20\x00\x62\x00CS\x02"), []byte("\x20\x00\x62\x00CS\xFE"), 1), ErrMalformed, ""},
		"rows missing":            {dicomFile(explicitLittle, dataSet(le, false, text(0x00280004, "CS", "MONOCHROME2"), el{0x7FE00010, "OW", []byte{0, 0}})), ErrMalformed, "Rows (0028,0010) is missing"},
		"rows empty":              {dicomFile(explicitLittle, dataSet(le, false, el{0x00280010, "US", nil}, el{0x7FE00010, "OW", nil})), ErrMalformed, "Rows (0028,0010) is missing"},
		"rows a text":             {dicomFile(explicitLittle, dataSet(le, false, text(0x00280010, "LO", "many"), el{0x7FE00010, "OW", nil})), ErrMalformed, `Rows (0028,0010) is "many"`},
		"rows of three bytes":     {dicomFile(explicitLittle, append(appendHead(nil, 0x00280010, "US", 3), 1, 2, 3)), ErrMalformed, "has 3 bytes"},
		"negative frames":         {dicomFile(explicitLittle, dataSet(le, false, append([]el{text(0x00280008, "IS", "-1")}, append(image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2"), el{0x7FE00010, "OW", []byte{0, 0}})...)...)), ErrMalformed, "-1 frames"},
		"more frames than pixels": {dicomFile(explicitLittle, dataSet(le, false, append([]el{text(0x00280008, "IS", "2147483647")}, append(image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2"), el{0x7FE00010, "OW", []byte{0, 0}})...)...)), ErrUnsupported, "2147483647 frames; films of up to 1024 are read"},
		"sequences 50,000 deep":   {dicomFile(explicitLittle, deep), ErrMalformed, "nested more than 32 deep"},
		"a million elements":      {dicomFile(explicitLittle, many), ErrUnsupported, "more than 1048576 elements"},
		"a report":                {dicomFile(explicitLittle, report), ErrUnsupported, "no image in it (SOP class 1.2.840.10008.5.1.4.1.1.88.11)"},
		"unknown syntax":          {compressed("1.2.3.4"), ErrUnsupported, "unknown transfer syntax 1.2.3.4; export the film uncompressed"},
		"video":                   {compressed("1.2.840.10008.1.2.4.102"), ErrUnsupported, "MPEG-4 video"},
		"on a server":             {compressed("1.2.840.10008.1.2.4.94"), ErrUnsupported, "JPIP referenced: the picture is not in the file"},
		"several components":      {compressed("1.2.840.10008.1.2.4.92"), ErrUnsupported, "compressed with JPEG 2000 multi-component lossless; export the film uncompressed"},
		"high-throughput":         {compressed("1.2.840.10008.1.2.4.201"), ErrMalformed, "0 fragments of pixel data for 1 frames"},
		"deflated, cut":           {cut("dcmtk-deflated.dcm", 300), ErrMalformed, "truncated"},
		"deflated, header cut":    {cut("dcmtk-deflated.dcm", 2600), ErrMalformed, "ends"},
		"deflated, random":        {append(dicomFile("1.2.840.10008.1.2.1.99", nil), noisy...), ErrMalformed, "deflate"},
		"deflated bomb, header":   {bomb(append(appendHead(nil, 0x00091001, "OB", 1<<24), make([]byte, 1<<24)...)), ErrUnsupported, "a deflated header of more than 4 MB"},
		"deflated bomb, pixels":   {bomb(append(dataSet(le, false, image16(le, 11000, 11000, 16, 12, 11, 0, "MONOCHROME2")...), appendHead(nil, pixelDataTag, "OW", 242_000_000)...)), ErrMalformed, "cannot be in"},
		"RLE, cut":                {cut("dcmtk-rle.dcm", 9), ErrMalformed, "truncated: "},
		"RLE, end cut":            {cut("dcmtk-rle.dcm", 7), ErrMalformed, "truncated: the pixel data has no end"},
		"RLE, rows forged":        {change(t, cut("dcmtk-rle.dcm", 0), 0x00280010, 0xFF, 0xFF), ErrMalformed, "compressed with RLE"},
		"JPEG, rows forged":       {change(t, cut("dcmtk-lossless.dcm", 0), 0x00280010, 0xFF, 0xFF), ErrMalformed, "compressed with lossless JPEG"},
		"compressed, no fragment": {compressed("1.2.840.10008.1.2.5"), ErrMalformed, "0 fragments of pixel data for 1 frames"},
		"PNG cut":                 {pngFile[:len(pngFile)-20], ErrMalformed, "truncated PNG"},
		"PNG header cut":          {pngFile[:20], ErrMalformed, "PNG without a header"},
		"PNG checksum":            {append(append(bytes.Clone(pngFile[:30]), pngFile[30]^1), pngFile[31:]...), ErrMalformed, "checksum"},
		"PNG 65535 x 65535":       {huge(len(pngFile)), ErrUnsupported, "65535 rows x 65535 columns"},
		"PNG larger than can be": {func() []byte {
			b := huge(len(pngFile))
			binary.BigEndian.PutUint32(b[16:], 2000)
			return b
		}(), ErrMalformed, "65535 rows x 2000 columns cannot be in"},
		"PNG colour":              {encodedPNG(t, image.NewRGBA(image.Rect(0, 0, 3, 3))), ErrUnsupported, "colour"},
		"PNG palette":             {encodedPNG(t, image.NewPaletted(image.Rect(0, 0, 3, 3), color.Palette{color.RGBA{200, 0, 0, 255}, color.White})), ErrUnsupported, "colour"},
		"JPEG cut":                {jpegFile[:len(jpegFile)-2], ErrMalformed, "truncated JPEG"},
		"JPEG header cut":         {jpegFile[:10], ErrMalformed, "truncated JPEG"},
		"JPEG colour":             {encodedJPEG(t, image.NewYCbCr(grey.Rect, image.YCbCrSubsampleRatio420)), ErrUnsupported, "colour"},
		"JPEG 65535 x 65535":      {bytes.Replace(jpegFile, []byte{0xC0, 0, 11, 8, 0, 20, 0, 30}, []byte{0xC0, 0, 11, 8, 255, 255, 255, 255}, 1), ErrUnsupported, "more than 128 megapixels"},
		"JPEG larger than can be": {bytes.Replace(jpegFile, []byte{0xC0, 0, 11, 8, 0, 20, 0, 30}, []byte{0xC0, 0, 11, 8, 255, 255, 4, 0}, 1), ErrMalformed, "cannot be in"},
		"JPEG of 12 bits":         {bytes.Replace(jpegFile, []byte{0xC0, 0, 11, 8}, []byte{0xC0, 0, 11, 12}, 1), ErrUnsupported, "JPEG of 12 bits"},
		"JPEG lossless":           {bytes.Replace(jpegFile, []byte{0xC0, 0, 11, 8}, []byte{0xC3, 0, 11, 8}, 1), ErrUnsupported, "SOF3"},
		"JPEG no picture":         {[]byte("\xFF\xD8\xFF\xDA\x00\x02"), ErrMalformed, "without a picture"},
		"TIFF cut":                {tiffFile[:600], ErrMalformed, "TIFF directory"},
		"TIFF colour":             {encodedTIFF(t, image.NewRGBA(image.Rect(0, 0, 3, 3)), nil), ErrUnsupported, "colour or transparent TIFF"},
		"TIFF directory":          {[]byte("II*\x00\xff\xff\xff\x7f"), ErrMalformed, "beyond the end"},
		"TIFF width":              {field(t, tiffFile, tiffWidth, 4, 65535), ErrMalformed, "20 rows x 65535 columns cannot be in"},
		"TIFF packed width":       {field(t, field(t, packed, tiffWidth, 4, 65535), tiffHeight, 4, 65535), ErrUnsupported, "more than 128 megapixels"},
		"TIFF strips cut":         {field(t, packed, 279, 4, 10), ErrMalformed, "truncated TIFF"},
		"TIFF bomb":               {field(t, field(t, bloated, tiffHeight, 4, 2), tiffRowsPerStrip, 4, 2), ErrMalformed, "TIFF with a block of more than its 3000 x 2 pixels"},
		"TIFF 4 bits":             {field(t, tiffFile, tiffBits, 3, 4), ErrUnsupported, "TIFF of 4 bits"},
		"TIFF compression":        {field(t, tiffFile, tiffCompression, 3, 4), ErrUnsupported, "TIFF of compression 4"},
	}
}

func TestBadFiles(t *testing.T) {
	for name, c := range badFiles(t) {
		t.Run(name, func(t *testing.T) {
			path := file(t, "bad.dcm", c.b)
			var err error
			start := time.Now()
			used := allocated(func() { _, err = Open(path) })
			assert.Less(t, time.Since(start), 2*time.Second)
			allowed := uint64(len(c.b)*3/2 + slack)
			if strings.HasPrefix(name, "deflated bomb, header") {
				allowed += 3 * maxHeader / 2
			}
			assert.LessOrEqual(t, used, allowed, "bytes allocated for a file of %d", len(c.b))
			if c.kind == nil {
				require.NoError(t, err)
				return
			}
			requireFault(t, path, err, c.kind)
			assert.Contains(t, err.Error(), c.says)
		})
	}
}

// requireFault checks an error as this package promises it.
func requireFault(t testing.TB, path string, err, kind error) {
	t.Helper()
	require.ErrorIs(t, err, kind)
	require.False(t, errors.Is(err, ErrMalformed) && errors.Is(err, ErrUnsupported), "both kinds: %v", err)
	require.True(t, strings.HasPrefix(err.Error(), "dicomio: "+path+": "+kind.Error()+": "), "%v", err)
	require.NotContains(t, err.Error(), "\n")
	require.Equal(t, 1, strings.Count(err.Error(), kind.Error()), "%v", err)
}

func TestNotAFile(t *testing.T) {
	dir := t.TempDir()
	_, err := Open(dir)
	assert.EqualError(t, err, "dicomio: "+dir+": is a folder; films are files")
	_, err = Open(filepath.Join(dir, "none.dcm"))
	assert.ErrorContains(t, err, "dicomio: "+filepath.Join(dir, "none.dcm")+": ")
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, err = Open(os.DevNull)
	assert.EqualError(t, err, "dicomio: "+os.DevNull+": unsupported: not a regular file")
	_, err = Open(filepath.Join(dir, "a\nb.dcm"))
	assert.NotContains(t, err.Error(), "\n")

	path := file(t, "secret.dcm", encoded(t, noise(2, 2, 12)))
	require.NoError(t, os.Chmod(path, 0))
	if f, err := os.Open(path); err == nil {
		f.Close()
		t.Log("this user may read every file; the unreadable one is not tested")
		return
	}
	_, err = Open(path)
	assert.EqualError(t, err, "dicomio: "+path+": permission denied")
}

func TestFileTooLarge(t *testing.T) {
	path := filepath.Join(t.TempDir(), "large.dcm")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	require.NoError(t, os.Truncate(path, maxFile+1)) // sparse
	var err error
	used := allocated(func() { _, err = Open(path) })
	requireFault(t, path, err, ErrUnsupported)
	assert.Less(t, used, uint64(slack))
}

// Every prefix of a film is refused as malformed.
func TestEveryTruncation(t *testing.T) {
	b := encoded(t, noise(6, 5, 12))
	for n := range b {
		_, err := decode(bytes.Clone(b[:n]))
		if !errors.Is(err, ErrMalformed) && !errors.Is(err, ErrUnsupported) {
			t.Fatalf("cut to %d of %d bytes: %v", n, len(b), err)
		}
	}
}

// Every length, count and type forged: no panic, and nothing large allocated.
func TestForgedBytes(t *testing.T) {
	for name, b := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			used := allocated(func() {
				step := 1
				if testing.Short() {
					step = 5
				}
				for i := 0; i < len(b); i += step {
					if i > 1500 {
						step = 50 // pixels
					}
					for _, with := range []string{"\xFF\xFF\xFF\xFF", "\xFE\xFF\xFF\x7F", "\x00\x00\x00\x00"} {
						forged := bytes.Clone(b)
						copy(forged[i:], with)
						if f, err := decode(forged); err == nil {
							require.Len(t, f.Pixels.Pix, 2*f.Rows*f.Columns)
						}
					}
				}
			})
			assert.Less(t, used/uint64(3*len(b)), uint64(3*len(b)+slack), "mean allocation")
		})
	}
}

// seeds are small films of every form.
func seeds(t testing.TB) map[string][]byte {
	le, be := binary.LittleEndian, binary.BigEndian
	set := func(order binary.AppendByteOrder, implicit bool) []byte {
		els := append(image16(order, 2, 3, 16, 12, 11, 0, "MONOCHROME1"), el{0x7FE00010, "OW", make([]byte, 12)})
		return dataSet(order, implicit, append([]el{text(0x00080020, "DA", "20040503")}, els...)...)
	}
	grey := image.NewGray16(image.Rect(0, 0, 5, 4))
	stored := func(name string) []byte {
		b, err := os.ReadFile(filepath.Join("testdata", name))
		require.NoError(t, err)
		return b
	}
	all := map[string][]byte{
		"written":  encoded(t, noise(6, 5, 12)),
		"implicit": dicomFile(implicitLittle, set(le, true)),
		"explicit": dicomFile(explicitLittle, set(le, false)),
		"big":      dicomFile("1.2.840.10008.1.2.2", set(be, false)),
		"bare":     set(le, true),
		"inflate":  stored("dcmtk-deflated.dcm"),
		"rle":      stored("dcmtk-rle.dcm"),
		"pieces":   stored("dcmtk-fragments.dcm"),
		"jpegls":   stored("dcmtk-jpegls.dcm"),
		"jpeg2000": stored("gdcm-jpeg2000.dcm"),
		"jpeg12":   stored("dcmtk-jpeg12.dcm"),
		"png":      encodedPNG(t, grey),
		"png8":     encodedPNG(t, image.NewGray(grey.Rect)),
		"jpeg":     encodedJPEG(t, image.NewGray(grey.Rect)),
		"tiff":     encodedTIFF(t, grey, nil),
		"deflated": encodedTIFF(t, grey, &tiff.Options{Compression: tiff.Deflate}),
		"bigtiff":  tiffOf(true, [][]byte{{1, 2}, {3}}, page(2, 1, tiffWhiteIsZero, []uint32{8}, one(tiffOrientation, 6)), page(1, 1, tiffBlackIsZero, []uint32{8})),
		"packbits": tiffOf(false, [][]byte{{0xFF, 7, 0, 5}}, page(3, 1, tiffBlackIsZero, []uint32{8}, one(tiffCompression, tiffPackBits))),
		"bmp":      encodedBMP(t, image.NewGray(grey.Rect)),
		"jp2":      stored("../codec/jpeg2000/testdata/opj-12.jp2"),
		"colours":  colourDICOM("RGB", 0, make([]byte, 3*256)),
		"groups":   grouped(2, nil, []el{sq(0x52009229, itemOf(sq(0x00189476, itemOf(text(0x00181110, "DS", "1150")))))}),
	}
	for name, head := range damaged() {
		all[name] = dicomFile(explicitLittle, append(head, set(le, false)...))
	}
	return all
}

// A length that goes beyond the file is told, where the picture is whole.
func TestPixelDataLongerThanFile(t *testing.T) {
	b := encoded(t, noise(8, 8, 12))
	n := len(b) - 128 // the pixels are last
	binary.LittleEndian.PutUint32(b[n-4:], 0xFFFFFFFE)
	f, err := decode(b)
	require.NoError(t, err)
	require.Equal(t, []string{"the pixel data states 4294967294 bytes, 128 are left: all that the picture needs is there"}, said(f.Warnings))
	require.Equal(t, noise(8, 8, 12).Pixels, f.Pixels)
}

func FuzzOpen(f *testing.F) {
	for _, b := range seeds(f) {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		size := len(b)
		film, err := decode(bytes.Clone(b))
		if err != nil {
			require.True(t, errors.Is(err, ErrMalformed) || errors.Is(err, ErrUnsupported), "%v", err)
			require.NotContains(t, err.Error(), "\n")
			return
		}
		require.Len(t, film.Pixels.Pix, 2*film.Rows*film.Columns)
		require.LessOrEqual(t, film.Rows*film.Columns, size*maxDeflate*2)
		require.NoError(t, film.check())
	})
}

// withChecksum closes a PNG chunk whose last four bytes are free.
func withChecksum(chunk []byte) []byte {
	n := len(chunk) - 4
	binary.BigEndian.PutUint32(chunk[n:], crc32.ChecksumIEEE(chunk[4:n]))
	return chunk
}
