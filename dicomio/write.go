package dicomio

import (
	"bufio"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// digitalXRay is the SOP class Digital X-Ray Image Storage - For Presentation.
const digitalXRay = "1.2.840.10008.5.1.4.1.1.1.1"

// Write writes f as an uncompressed explicit little endian Digital X-Ray object
// (PS3.3 A.26), the stored values bit for bit. Its UIDs are made from its
// content, so that the same film is written the same each time, and the films
// of one patient and day share their study. What f does not state is left
// empty where the standard allows it; Imager Pixel Spacing is left out.
func Write(w io.Writer, f *Film) error {
	if err := f.check(); err != nil {
		return err
	}
	pixels := f.stored(binary.LittleEndian)
	els := f.attributes()
	id := sha256.New()
	for _, e := range els {
		fmt.Fprintf(id, "%08x %s\n", e.tag, e.value)
	}
	id.Write(pixels)
	instance := MadeUID("instance", string(id.Sum(nil)))
	study := MadeUID("study", f.PatientCode+"\n"+dicomDay(f))
	if f.PatientCode == "" {
		study = MadeUID("study", instance)
	}
	els = append(els,
		attribute{0x00080018, "UI", instance},
		attribute{0x0020000D, "UI", study},
		attribute{0x0020000E, "UI", MadeUID("series", instance)})
	slices.SortFunc(els, func(a, b attribute) int { return int(int64(a.tag) - int64(b.tag)) })

	meta := appendElement(nil, 0x00020002, "UI", []byte(digitalXRay))
	meta = appendElement(meta, 0x00020003, "UI", []byte(instance))
	head := appendMeta(nil, explicitLittle, meta)
	for _, e := range els {
		head = appendElement(head, e.tag, e.vr, e.bytes())
	}
	head = appendHead(head, pixelDataTag, "OW", len(pixels))
	if _, err := w.Write(head); err != nil {
		return err
	}
	_, err := w.Write(pixels)
	return err
}

// WriteFile writes f to path as Write does, through a temporary file beside it,
// so that path never holds half a film.
func WriteFile(path string, f *Film) error {
	return writeFile(path, func(w io.Writer) error { return Write(w, f) })
}

// writeFile has a file written under another name and then gives it its own.
func writeFile(path string, write func(io.Writer) error) (err error) {
	t, err := os.CreateTemp(filepath.Dir(path), ".film-*")
	if err != nil {
		return named(path, err)
	}
	defer func() {
		if err != nil {
			t.Close()
			os.Remove(t.Name())
			err = named(path, err)
		}
	}()
	b := bufio.NewWriterSize(t, 1<<16)
	if err = write(b); err != nil {
		return err
	}
	if err = b.Flush(); err != nil {
		return err
	}
	if err = t.Chmod(0o644); err != nil {
		return err
	}
	if err = t.Close(); err != nil {
		return err
	}
	return os.Rename(t.Name(), path)
}

// check refuses a film that cannot be written as it is.
func (f *Film) check() error {
	switch {
	case f.Pixels == nil || f.Pixels.Rect.Empty():
		return refused("write.no-pixels", "film without pixels")
	case f.Pixels.Rect.Dx() > 65535 || f.Pixels.Rect.Dy() > 65535:
		return refused("write.size", "film of %d rows x %d columns; 65535 each can be written", "Rows", f.Pixels.Rect.Dy(), "Columns", f.Pixels.Rect.Dx())
	case f.Bits < 1 || f.Bits > 16:
		return refused("write.bits", "film of %d bits stored; 1 to 16 can be written", "Bits", f.Bits)
	case f.Photometric != "MONOCHROME1" && f.Photometric != "MONOCHROME2":
		return refused("write.photometric", "film with photometric interpretation %q; MONOCHROME1 and MONOCHROME2 can be written", "Photometric", f.Photometric)
	}
	m := mask(f.Bits)
	for y := range f.Pixels.Rect.Dy() {
		row := f.Pixels.Pix[y*f.Pixels.Stride:][:2*f.Pixels.Rect.Dx()]
		for x := 0; x < len(row); x += 2 {
			if v := binary.BigEndian.Uint16(row[x:]); v > m {
				return refused("write.grey", "grey value %d in a film of %d bits", "Value", v, "Bits", f.Bits)
			}
		}
	}
	return nil
}

// attribute is an element to be written. US values are decimal texts.
type attribute struct {
	tag   uint32
	vr    string
	value string
}

func (a attribute) bytes() []byte {
	if a.vr != "US" && a.vr != "SS" {
		return []byte(a.value)
	}
	n, err := strconv.Atoi(a.value)
	if err != nil {
		panic("dicomio: " + a.value + " as a number")
	}
	return binary.LittleEndian.AppendUint16(nil, uint16(n))
}

// attributes are those of the Digital X-Ray object, but for UIDs and pixels.
func (f *Film) attributes() []attribute {
	els := f.identity()
	els = append(els, f.acquisition()...)
	return append(els, f.imagePixel()...)
}

// identity: the patient, study, series, equipment and image modules.
func (f *Film) identity() []attribute {
	date := dicomDay(f)
	els := []attribute{
		{0x00080005, "CS", "ISO_IR 192"},
		{0x00080008, "CS", `ORIGINAL\PRIMARY\`},
		{0x00080016, "UI", digitalXRay},
		{0x00080020, "DA", date},
		{0x00080030, "TM", ""},
		{0x00080050, "SH", ""},
		{0x00080060, "CS", "DX"},
		{0x00080068, "CS", "FOR PRESENTATION"},
		{0x00080070, "LO", ""},
		{0x00080090, "PN", ""},
		{0x00082218, "SQ", ""}, // anatomic region
		{0x00100010, "PN", ""},
		{0x00100020, "LO", f.PatientCode},
		{0x00100030, "DA", ""},
		{0x00100040, "CS", ""},
		{0x00200010, "SH", ""},
		{0x00200011, "IS", "1"},
		{0x00200013, "IS", "1"},
		{0x00200020, "CS", strings.Trim(f.Orientation[0]+`\`+f.Orientation[1], `\`)},
		{0x00200062, "CS", orUnknown(f.Laterality)},
	}
	switch f.DateSource {
	case "study":
	case "content":
		els[3].value = ""
		els = append(els, attribute{0x00080023, "DA", date}, attribute{0x00080033, "TM", ""})
	default:
		els = append(els, attribute{0x00080022, "DA", date})
	}
	return els
}

// acquisition: the X-ray acquisition, detector and positioning modules.
func (f *Film) acquisition() []attribute {
	g := f.Geometry
	els := []attribute{
		{0x00185101, "CS", f.View},
		{0x00187004, "CS", ""}, // detector type
		{0x00181508, "CS", ""}, // positioner type
		{0x00400555, "SQ", ""}, // acquisition context
	}
	if g.PixelKind != "" {
		els = append(els, attribute{0x00280A02, "CS", g.PixelKind}, attribute{0x00280A04, "LO", "not kept"})
	}
	for _, l := range []struct {
		tag  uint32
		pair [2]float64
	}{{0x00181164, g.Imager}, {0x00182010, g.Scan}, {0x00280030, g.Pixel}} {
		if stated(l.pair) {
			els = append(els, attribute{l.tag, "DS", decimal(l.pair[0]) + `\` + decimal(l.pair[1])})
		}
	}
	for _, l := range []struct {
		tag uint32
		v   float64
	}{{0x00181110, g.SourceImage}, {0x00181111, g.SourcePatient}, {0x00181114, g.Magnification}} {
		if usable(l.v) {
			els = append(els, attribute{l.tag, "DS", decimal(l.v)})
		}
	}
	if f.Field.Stated() {
		whole := func(v float64) string { return strconv.Itoa(int(math.Round(v))) }
		els = append(els,
			attribute{0x00181700, "CS", "RECTANGULAR"},
			attribute{0x00181702, "IS", whole(f.Field.Left + 1)},
			attribute{0x00181704, "IS", whole(f.Field.Right)},
			attribute{0x00181706, "IS", whole(f.Field.Upper + 1)},
			attribute{0x00181708, "IS", whole(f.Field.Lower)},
		)
	}
	return els
}

// imagePixel: the image pixel and DX image modules.
func (f *Film) imagePixel() []attribute {
	photometric, shape, sign, representation := "MONOCHROME2", "IDENTITY", "-1", "0"
	if f.mirrored() {
		photometric, shape, sign = "MONOCHROME1", "INVERSE", "1"
	}
	if f.Greys.Sign != 0 {
		sign = strconv.Itoa(f.Greys.Sign)
	}
	low := 0
	if f.Signed {
		representation, low = "1", -1<<(f.Bits-1)
	}
	lossy, burned := "00", "NO"
	if f.Lossy {
		lossy = "01"
	}
	if f.BurnedIn != "" {
		burned = f.BurnedIn
	}
	centers, widths, function := f.writtenWindows(low)
	return []attribute{
		{0x00280002, "US", "1"},
		{0x00280004, "CS", photometric},
		{0x00280010, "US", strconv.Itoa(f.Pixels.Rect.Dy())},
		{0x00280011, "US", strconv.Itoa(f.Pixels.Rect.Dx())},
		{0x00280100, "US", "16"},
		{0x00280101, "US", strconv.Itoa(f.Bits)},
		{0x00280102, "US", strconv.Itoa(f.Bits - 1)},
		{0x00280103, "US", representation},
		{0x00280301, "CS", burned},
		{0x00281040, "CS", "LOG"}, // pixel intensity relationship
		{0x00281041, "SS", sign},  // 1: lower values, less X-ray
		{0x00281050, "DS", centers},
		{0x00281051, "DS", widths},
		{0x00281052, "DS", "0"},
		{0x00281053, "DS", "1"},
		{0x00281054, "LO", "US"},
		{0x00281056, "CS", function},
		{0x00282110, "CS", lossy},
		{0x20500020, "CS", shape},
	}
}

// writtenWindows are the film's windows, if they are of stored values and of one
// function, else one over all values from low on.
func (f *Film) writtenWindows(low int) (centers, widths, function string) {
	g := f.Greys
	if len(g.Windows) == 0 || g.Modality != nil || g.Intercept != 0 || g.Slope != 0 && g.Slope != 1 {
		return decimal(float64(low) + float64(int(1)<<f.Bits)/2), strconv.Itoa(1 << f.Bits), "LINEAR"
	}
	var c, w []string
	function = g.Windows[0].Function
	for _, window := range g.Windows {
		if window.Function == function {
			c, w = append(c, decimal(window.Center)), append(w, decimal(window.Width))
		}
	}
	return strings.Join(c, `\`), strings.Join(w, `\`), function
}

func orUnknown(side string) string {
	if side == "" {
		return "U"
	}
	return side
}

func dicomDay(f *Film) string {
	if f.Date.IsZero() {
		return ""
	}
	return f.Date.Format("20060102")
}

// decimal writes a number in the 16 characters that DS allows.
func decimal(v float64) string {
	for digits := 15; digits > 0; digits-- {
		if s := strconv.FormatFloat(v, 'g', digits, 64); len(s) <= 16 {
			return s
		}
	}
	return "0"
}

// MadeUID makes a UID from a text, the same each time, for a kind of object.
func MadeUID(kind, text string) string {
	sum := sha256.Sum256([]byte("linerwatch " + kind + "\n" + text))
	return asUID(sum[:])
}
