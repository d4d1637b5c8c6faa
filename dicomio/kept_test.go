package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plainFilm is a small film of a SOP class, with elements besides or in place of its own.
func plainFilm(class string, more ...el) []byte {
	le := binary.LittleEndian
	els := append([]el{
		text(0x00080016, "UI", class), text(0x00080018, "UI", "2.25.1"), text(0x00080020, "DA", "20040503"),
		text(0x00080060, "CS", "DX"), text(0x00100020, "LO", "HOSP-1"), text(0x0020000D, "UI", "2.25.12"), text(0x0020000E, "UI", "2.25.13"),
	}, image16(le, 2, 3, 16, 12, 11, 0, "MONOCHROME2")...)
	els = append(els, el{0x7FE00010, "OW", make([]byte, 12)})
	for _, e := range more {
		els = slices.DeleteFunc(els, func(old el) bool { return old.tag == e.tag })
	}
	els = append(els, more...)
	slices.SortStableFunc(els, func(a, b el) int { return int(int64(a.tag) - int64(b.tag)) })
	for i, e := range els {
		if e.vr == "UI" && len(e.value)%2 == 1 {
			els[i].value = append(e.value, 0)
		}
	}
	return dicomFile(explicitLittle, dataSet(le, false, els...))
}

// cleaned is a film without its identity, the elements of its data set and what was said.
func cleaned(t testing.TB, b []byte) (out []byte, els map[uint32]el, done Deidentified) {
	t.Helper()
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	out, done, err = d.film(bytes.Clone(b))
	require.NoError(t, err)
	h, err := parseHeader(out, len(out))
	require.NoError(t, err)
	els = map[uint32]el{}
	w := &walker{b: out, size: len(out), order: binary.LittleEndian}
	_, _, err = w.each(h.start, func(e head, next int) error {
		els[e.tag] = el{e.tag, e.vr, out[e.value:next]}
		return nil
	})
	require.NoError(t, err)
	return out, els, done
}

// textOf is an element's value without padding.
func textOf(e el) string { return strings.TrimRight(string(e.value), " \x00") }

// item is a sequence of one item.
func item(tag uint32, els ...el) el {
	return el{tag, "SQ", appendItem(nil, dataSet(binary.LittleEndian, false, els...))}
}

// A film that was compressed with loss once, or is now, says so when it is written
// uncompressed, and how.
func TestDeidentifyKeepsLosses(t *testing.T) {
	_, els, _ := cleaned(t, plainFilm(digitalXRay,
		text(0x00282110, "CS", "01"), text(0x00282112, "DS", `8.5\2`), text(0x00282114, "CS", `ISO_10918_1\ISO_15444_1`)))
	assert.Equal(t, []string{"01", `8.5\2`, `ISO_10918_1\ISO_15444_1`}, []string{textOf(els[0x00282110]), textOf(els[0x00282112]), textOf(els[0x00282114])})

	b, err := os.ReadFile("testdata/dcmtk-jpeg12.dcm")
	require.NoError(t, err)
	for _, stated := range []bool{true, false} {
		from := bytes.Clone(b)
		if !stated { // by a writer that says nothing of it
			for _, t := range []string{"\x28\x00\x10\x21CS", "\x28\x00\x12\x21DS", "\x28\x00\x14\x21CS"} {
				from = bytes.Replace(from, []byte(t), []byte("\x29"+t[1:]), 1)
			}
		}
		f, err := decode(bytes.Clone(from))
		require.NoError(t, err)
		require.True(t, f.Lossy)
		_, els, _ = cleaned(t, from)
		assert.Equal(t, "01", textOf(els[0x00282110]), stated)
		assert.Equal(t, "ISO_10918_1", textOf(els[0x00282114]), stated)
		assert.Regexp(t, `^\d+(\.\d+)?$`, textOf(els[0x00282112]), stated)
	}
}

// Texts where a word or a number is due do not stay, whatever repertoire they keep to.
func TestDeidentifyKeepsNoFreeText(t *testing.T) {
	for _, c := range []struct {
		e    el
		mark string
		left string // what stands there then; "-": nothing
	}{
		{text(0x00181147, "CS", "ANN LEE"), "ANN LEE", "-"},
		{text(0x00181147, "CS", "ROUND"), "", "ROUND"},
		{text(0x00080008, "CS", `DERIVED\PRIMARY\ANN LEE\MRN 7`), "ANN LEE", `DERIVED\PRIMARY\`},
		{text(0x00080008, "CS", `ANN LEE\PRIMARY`), "ANN LEE", `DERIVED\SECONDARY\`},
		{text(0x00200011, "IS", "7701234"), "7701234", "1"},
		{text(0x00200013, "IS", "7701234"), "7701234", "1"},
		{text(0x00080060, "CS", "ANN LEE"), "ANN LEE", "OT"},
		{text(0x00180015, "CS", "ANN LEE"), "ANN LEE", "-"},
		{text(0x00180015, "CS", "PELVIS"), "", "PELVIS"},
		{text(0x00185101, "CS", "MRN 7701"), "MRN 7701", "-"},
		{text(0x00185101, "CS", "FROG"), "", "FROG"},
		{text(0x00200020, "CS", `L\F`), "", `L\F`},
		{text(0x00200020, "CS", `FLA\H`), "", `FLA\H`},
		{text(0x00200020, "CS", `HALF\F`), "HALF", "-"},
		{text(0x00200062, "CS", "ANN"), "ANN", "U"},
		{text(0x00282114, "CS", "ANN LEE"), "ANN LEE", "-"},
		{text(0x00181150, "IS", "19520229"), "19520229", "-"},
		{text(0x00181150, "IS", "+0080"), "+0080", "80"},
		{text(0x00180060, "DS", "19520229"), "19520229", "-"},
		{text(0x00180060, "DS", "0x1p3"), "0x1p3", "-"},
		{text(0x00180060, "DS", "NaN"), "NaN", "-"},
		{text(0x00181164, "DS", `0.150\0.150`), "0.150", `0.15\0.15`},
		{text(0x00280030, "DS", `0.14300000000001\0.14300000000001`), "", `0.14300000000001\0.14300000000001`},
		{text(0x00181164, "DS", `.1\.2\.1952`), ".1952", "-"},
		{text(0x00281055, "LO", "ANN LEE"), "ANN LEE", "-"},
	} {
		t.Run(fmt.Sprintf("%08X %s", c.e.tag, c.e.value), func(t *testing.T) {
			out, els, _ := cleaned(t, plainFilm(digitalXRay, c.e))
			if c.mark != "" {
				requireGone(t, out, []string{c.mark})
			}
			e, there := els[c.e.tag]
			if c.left == "-" {
				assert.False(t, there)
				return
			}
			require.True(t, there)
			assert.Equal(t, c.left, textOf(e))
		})
	}
}

// What is left out is said, except where it always is.
func TestDeidentifySaysWhatIsLeftOut(t *testing.T) {
	_, _, done := cleaned(t, plainFilm(digitalXRay, text(0x00181147, "CS", "ANN LEE"), text(0x00280301, "CS", "NO")))
	assert.Equal(t, []string{"Field of View Shape (0018,1147) is not of the terms or numbers that may stay and was left out",
		"the film says that it is free of burned-in text, which nobody has checked: look at it, and state it if there is none"}, said(done.Warnings))
}

// A code is kept with the meaning that its scheme gives it.
func TestDeidentifyMeanings(t *testing.T) {
	code := func(value, scheme, meaning string) el {
		return item(0x00540220, text(0x00080100, "SH", value), text(0x00080102, "SH", scheme), text(0x00080104, "LO", meaning))
	}
	out, _, done := cleaned(t, plainFilm(digitalXRay, code("399348003", "SCT", "of ANN LEE")))
	requireGone(t, out, []string{"ANN LEE"})
	assert.Contains(t, string(out), "antero-posterior")
	assert.Len(t, done.Warnings, 1)
	out, els, done := cleaned(t, plainFilm(digitalXRay, code("ANN-7701", "SCT", "Pelvis")))
	requireGone(t, out, []string{"ANN-7701"})
	assert.NotContains(t, els, uint32(0x00540220))
	assert.Equal(t, "identity.not-code", done.Warnings[0].Code)
}

// Of look-up tables stay the entries alone, and none that is no scale of greys.
func TestDeidentifyTables(t *testing.T) {
	words := func(v ...uint16) (b []byte) {
		for _, n := range v {
			b = binary.LittleEndian.AppendUint16(b, n)
		}
		return b
	}
	table := func(data []byte) el {
		return item(0x00283010, el{0x00283002, "US", words(4, 10, 12)}, text(0x00283003, "LO", "of ANN LEE"), el{0x00283006, "OW", data})
	}
	b := plainFilm(digitalXRay, table(append(words(0, 100, 200, 4000), "ANN LEE "...)))
	out, _, done := cleaned(t, b)
	requireGone(t, out, []string{"ANN LEE"})
	assert.Len(t, done.Warnings, 1)
	was, err := decode(b)
	require.NoError(t, err)
	is, err := decode(out)
	require.NoError(t, err)
	require.Len(t, is.Greys.Tables, 1)
	was.Greys.Tables[0].Name = ""
	assert.Equal(t, was.Greys, is.Greys)

	out, els, done := cleaned(t, plainFilm(digitalXRay, table([]byte("ANN LEE "))))
	requireGone(t, out, []string{"ANN LEE"})
	assert.NotContains(t, els, uint32(0x00283010))
	assert.Equal(t, "identity.table", done.Warnings[0].Code)
}

// Elements that have to be there are (PS3.3 A.26, C.8.11.3, C.11.1).
func TestDeidentifyKeepsWhatHasToBeThere(t *testing.T) {
	_, els, _ := cleaned(t, plainFilm(digitalXRay,
		text(0x00281052, "DS", "0"), text(0x00281053, "DS", "1"), text(0x00281054, "LO", "ANN LEE"),
		item(0x00400555, text(0x0040A160, "UT", "ANN LEE"))))
	assert.Equal(t, "US", textOf(els[0x00281054]))
	require.Contains(t, els, uint32(0x00400555))
	assert.Empty(t, els[0x00400555].value)
}

// dciodvfy of dicom3tools finds nothing wrong with a copy that it does not find with
// the film, for films of every kind that is written.
func TestPeersFindNoFaultInDeidentifiedFilm(t *testing.T) {
	if _, err := exec.LookPath("dciodvfy"); err != nil {
		t.Skip("dciodvfy is not installed: nothing is checked against it")
	}
	signed := noise(40, 30, 12)
	signed.Signed = true
	for name, b := range map[string][]byte{
		"digital": encoded(t, noise(40, 30, 12)), "signed": encoded(t, signed),
		"computed": plainFilm("1.2.840.10008.5.1.4.1.1.1", text(0x00180015, "CS", "PELVIS")),
		"capture":  plainFilm(secondaryCapture, text(0x00080064, "CS", "WSD")),
		"padded": plainFilm("1.2.840.10008.5.1.4.1.1.1", short(0x00280103, binary.LittleEndian, 1),
			el{0x00280120, "SS", []byte{0x00, 0xF8}}),
	} {
		from := file(t, "in.dcm", b)
		to := filepath.Join(t.TempDir(), "out.dcm")
		d, err := NewDeidentifier(secret)
		require.NoError(t, err)
		_, err = d.File(from, to)
		require.NoError(t, err)
		was, is := faults(from), faults(to)
		for _, fault := range is {
			assert.Contains(t, was, fault, name)
		}
		t.Logf("%s: %d faults, %d in the copy", name, len(was), len(is))
	}
}

// faults are the errors that dciodvfy finds, which it tells by its exit code too.
func faults(path string) (out []string) {
	said, _ := exec.Command("dciodvfy", path).CombinedOutput()
	for line := range strings.Lines(string(said)) {
		if strings.HasPrefix(line, "Error") {
			out = append(out, strings.TrimSpace(line))
		}
	}
	return out
}

// Padding is of the type of the pixels (PS3.5 A.2).
func TestDeidentifySignedPadding(t *testing.T) {
	for _, signed := range []bool{false, true} {
		vr, representation := "US", uint16(0)
		value := []byte{0x01, 0x00}
		if signed {
			vr, representation, value = "SS", 1, []byte{0x00, 0xF8} // -2048
		}
		out, els, _ := cleaned(t, plainFilm(digitalXRay, short(0x00280103, binary.LittleEndian, representation), el{0x00280120, "US", value}))
		assert.Equal(t, el{0x00280120, vr, value}, els[0x00280120])
		f, err := decode(out)
		require.NoError(t, err)
		want := &Padding{1, 1}
		if signed {
			want = &Padding{-2048, -2048}
		}
		assert.Equal(t, want, f.Greys.Padding)
	}
}

// A SOP class that only its maker knows becomes Secondary Capture, one of the
// standard that a film can keep stays.
func TestDeidentifyPrivateClass(t *testing.T) {
	for class, want := range map[string]string{
		digitalXRay:                       digitalXRay,
		"1.2.840.10008.5.1.4.1.1.1":       "1.2.840.10008.5.1.4.1.1.1",
		"1.2.826.0.1.3680043.9.99.1":      secondaryCapture,
		"1.2.840.10008.5.1.4.1.1.77012":   secondaryCapture,
		"1.2.840.10008.5.1.4.1.1.12.1.1 ": secondaryCapture, // enhanced: its frames' own groups are not kept
	} {
		out, els, done := cleaned(t, plainFilm(strings.TrimSpace(class)))
		assert.Equal(t, want, textOf(els[0x00080016]))
		assert.Equal(t, want != strings.TrimSpace(class), done.Warnings[0].Code == "identity.class")
		h, err := parseHeader(out, len(out))
		require.NoError(t, err)
		assert.Equal(t, want, h.class)
	}
	_, els, _ := cleaned(t, plainFilm("1.2.826.0.1.3680043.9.99.1"))
	assert.Equal(t, "WSD", textOf(els[0x00080064]))
}

// UIDs that only begin as those of the standard are not kept.
func TestDeidentifyUIDs(t *testing.T) {
	out, els, _ := cleaned(t, plainFilm(digitalXRay, text(0x0020000D, "UI", "1.2.840.10008.77012")))
	requireGone(t, out, []string{"77012"})
	assert.Regexp(t, `^2\.25\.`, textOf(els[0x0020000D]))
}

// One ID of two issuers is two persons.
func TestDeidentifyIssuers(t *testing.T) {
	of := func(more ...el) Deidentified {
		out, _, done := cleaned(t, plainFilm(digitalXRay, more...))
		requireGone(t, out, []string{"CLINIC", "1.2.3.77"})
		return done
	}
	none, a := of(), of(text(0x00100021, "LO", "CLINIC A"))
	b := of(text(0x00100021, "LO", "CLINIC B"))
	universal := of(item(0x00100024, text(0x00400032, "UT", "1.2.3.77"), text(0x00400033, "CS", "ISO")))
	codes := []string{none.Code, a.Code, b.Code, universal.Code}
	slices.Sort(codes)
	assert.Len(t, slices.Compact(codes), 4)
	assert.Equal(t, a, of(text(0x00100021, "LO", "CLINIC A ")))
	assert.Equal(t, "HOSP-1 of CLINIC A", a.Patient)
	assert.NotEqual(t, a.Days, b.Days)
	assert.Negative(t, a.Days)
}
