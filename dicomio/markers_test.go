package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/suyashkumar/dicom/pkg/tag"
)

// planter plants texts that are found again.
type planter struct{ marks []string }

// mark is a new text of so many characters at least.
func (p *planter) mark() string {
	m := fmt.Sprintf("MK%05dQ", len(p.marks))
	p.marks = append(p.marks, m)
	return m
}

// plant is an element with a marker, as its type allows it.
func (p *planter) plant(t uint32) el {
	e, mark := marked(t, 1000+len(p.marks))
	p.marks = append(p.marks, mark)
	return e
}

// text is an element with a marker, whatever its type allows.
func (p *planter) text(t uint32, vr string) el { return text(t, vr, p.mark()) }

// nested are sequences in sequences, to a depth, with a marker in each.
func (p *planter) nested(t uint32, depth int) el {
	inner := []el{p.text(0x00080104, "LO"), p.text(0x00091001, "LO"), p.text(0x00100010, "PN")}
	if depth > 1 {
		inner = append(inner, p.nested(0x00400555, depth-1))
	}
	return item(t, inner...)
}

// everywhere is a film with markers wherever one can stand.
func (p *planter) everywhere(t *testing.T) []byte {
	els := map[uint32]el{}
	add := func(e el) { els[e.tag] = e }
	for _, row := range profile(t) {
		if row.tag>>16 > 6 {
			add(p.plant(row.tag))
		}
	}
	for t, r := range kept {
		if r.do == codes {
			add(item(t, p.text(0x00080100, "SH"), text(0x00080102, "SH", "SCT"), p.text(0x00080104, "LO")))
		} else {
			add(p.text(t, r.vr))
		}
	}
	for _, t := range dictionary() {
		if vr, read := wanted[t]; els[t].vr == "" && t != 0x00080018 && !(read && (vr == "US" || vr == "SS" || vr == "SQ")) {
			add(p.plant(t))
		}
	}
	for n := range uint32(150) {
		add(p.text(0x00091001+n, "LO"))
		add(p.text(0x7FE11001+n, "UT"))
	}
	for n := range uint32(16) {
		for _, e := range []uint32{0x0022, 0x1500, 0x3000, 0x4000} {
			add(p.text(0x60000000+n<<17+e, "LO"))
			add(p.text(0x50000000+n<<17+e, "LO"))
		}
	}
	for _, t := range []uint32{0x00081140, 0x00082112, 0x00400275, 0x00409096, 0x0040A730, 0x52009229, 0x52009230, 0x04000561} {
		add(p.nested(t, 6))
	}
	for _, t := range []uint32{0x00204000, 0x00284000, 0x00324000, 0x00404000, 0x40004000, 0x00281055, 0x00281054, 0x00080005} {
		add(p.text(t, "LT"))
	}
	add(item(0x00283010, el{0x00283002, "US", []byte{4, 0, 0, 0, 12, 0}}, p.text(0x00283003, "LO"), el{0x00283006, "OW", append([]byte{0, 0, 1, 0, 2, 0, 3, 0}, p.mark()...)}))
	for _, e := range append(image16(binary.LittleEndian, 20, 30, 16, 8, 7, 0, "MONOCHROME2"), text(0x00080016, "UI", digitalXRay), text(0x00280008, "IS", "1")) {
		if len(e.value)%2 == 1 {
			e.value = append(e.value, 0)
		}
		add(e)
	}
	delete(els, 0x00280301)
	for _, t := range []uint32{0x00280120, 0x00280121, 0x00281041} { // of numbers, which the film is refused without
		delete(els, t)
	}
	return p.file(els)
}

// dictionary are the attributes of PS3.6 in groups of images, as the parser's library has them.
func dictionary() (tags []uint32) {
	for _, group := range []uint32{0x08, 0x10, 0x12, 0x14, 0x18, 0x20, 0x22, 0x24, 0x28, 0x32, 0x38, 0x3A, 0x40, 0x54, 0x70, 0x88, 0x0400, 0x2050, 0x4008, 0x5200} {
		for e := range uint32(1 << 16) {
			if _, err := tag.Find(tag.Tag{Group: uint16(group), Element: uint16(e)}); err == nil && e != 0 {
				tags = append(tags, group<<16|e)
			}
		}
	}
	return tags
}

// file has markers in preamble and meta information, in the unused bits of the
// pixels, and behind them.
func (p *planter) file(els map[uint32]el) []byte {
	var sorted []el
	for _, t := range slices.Sorted(maps.Keys(els)) {
		sorted = append(sorted, els[t])
	}
	set := dataSet(binary.LittleEndian, false, sorted...)
	pixels := make([]byte, 2*600) // of 8 bits: the upper ones are unused
	for i, c := range []byte(p.mark()) {
		pixels[2*i+1] = c
	}
	behind := append([]byte(p.mark()), p.mark()...)
	set = append(set, dataSet(binary.LittleEndian, false, el{0x7FE00010, "OW", append(pixels, behind...)}, p.text(0xFFFCFFFC, "OB"))...)
	meta := appendElement(nil, 0x00020003, "UI", []byte("1.2.826.99.77"))
	for _, t := range []uint32{0x00020016, 0x00020100, 0x00020102} {
		meta = appendElement(meta, t, "LO", []byte(p.mark()))
	}
	b := append(appendMeta(nil, explicitLittle, meta), set...)
	for i := range 128 / 8 {
		copy(b[8*i:], p.mark())
	}
	return b
}

// Markers in every attribute of a film, more than a thousand, and not one is left.
func TestDeidentifyThousandMarkers(t *testing.T) {
	for _, characteristics := range []bool{false, true} {
		p := &planter{}
		b := p.everywhere(t)
		d, err := NewDeidentifier(secret)
		require.NoError(t, err)
		d.KeepCharacteristics = characteristics
		planted := 0
		for _, m := range p.marks {
			if bytes.Contains(b, []byte(m)) {
				planted++
			}
		}
		require.GreaterOrEqual(t, planted, 1000)
		out, _, err := d.film(b)
		require.NoError(t, err)
		requireGone(t, out, p.marks)
		require.NotContains(t, string(out), "MK")
		spread := bytes.ReplaceAll(out, []byte{0}, nil) // as in the upper bytes of pixels
		for _, m := range p.marks {
			require.NotContains(t, string(spread), m)
		}
		t.Logf("%d markers planted", planted)
	}
}

// Comments of a codestream do not stay.
func TestDeidentifyCommentsOfCodestreams(t *testing.T) {
	for name, before := range map[string]string{
		"dcmtk-lossless": "\xFF\xC3", "dcmtk-jpegls": "\xFF\xF7", "dcmtk-jpeg12": "\xFF\xC1", "gdcm-jpeg2000": "\xFF\x52",
	} {
		t.Run(name, func(t *testing.T) {
			b, err := os.ReadFile("testdata/" + name + ".dcm")
			require.NoError(t, err)
			p := &planter{}
			segments := []string{"\xFF\xFE", "\xFF\xE1"} // COM, APP1 (ITU-T T.81 B.2.4)
			if strings.HasSuffix(name, "2000") {
				segments = []string{"\xFF\x64"} // COM (T.800 A.9.2)
			}
			var plant []byte
			for _, marker := range segments {
				content := p.mark() + p.mark()
				if marker == "\xFF\x64" {
					content = "\x00\x01" + content // Latin text
				}
				plant = append(append(plant, marker...), byte(0), byte(len(content)+2))
				plant = append(plant, content...)
			}
			b = planted(t, b, before, plant)
			was, err := decode(bytes.Clone(b))
			require.NoError(t, err)
			d, err := NewDeidentifier(secret)
			require.NoError(t, err)
			d.Black = []image.Rectangle{} // as it is
			out, _, err := d.film(b)
			require.NoError(t, err)
			requireGone(t, out, p.marks)
			is, err := decode(out)
			require.NoError(t, err)
			require.Equal(t, was.Pixels, is.Pixels)
		})
	}
}

// planted puts bytes, an even number of them, before a marker of a file's codestream.
func planted(t *testing.T, b []byte, before string, plant []byte) []byte {
	require.Zero(t, len(plant)%2)
	start := bytes.LastIndex(b, []byte("\xFE\xFF\x00\xE0")) // the last fragment
	if first := bytes.Index(b, []byte("\xFE\xFF\x00\xE0\x00\x00\x00\x00")); first >= 0 {
		start = first + 8 // after an empty table of offsets
	} else if i := bytes.Index(b, []byte("\xFF\xD8")); i > 8 {
		start = i - 8
	}
	at := bytes.Index(b[start:], []byte(before))
	require.Positive(t, at)
	n := binary.LittleEndian.Uint32(b[start+4:])
	binary.LittleEndian.PutUint32(b[start+4:], n+uint32(len(plant)))
	return slices.Concat(b[:start+at], plant, b[start+at:])
}
