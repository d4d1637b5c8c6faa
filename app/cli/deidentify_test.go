package cli_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"

	"linerwatch/app/cli"
)

// element is one of an explicit little endian file without sequences, as the
// program writes them; it is read here without the program's own reader.
type element struct {
	tag   uint32
	vr    string
	value []byte
}

// long are the value representations with a length of four bytes (PS3.5 7.1.2).
const long = "OB OW UN SQ UT"

func elements(b []byte) (out []element) {
	for b = b[132:]; len(b) >= 8; {
		e := element{tag: uint32(binary.LittleEndian.Uint16(b))<<16 | uint32(binary.LittleEndian.Uint16(b[2:])), vr: string(b[4:6])}
		n, head := int(binary.LittleEndian.Uint16(b[6:])), 8
		if strings.Contains(long, e.vr) {
			n, head = int(binary.LittleEndian.Uint32(b[8:])), 12
		}
		e.value = b[head : head+n]
		out, b = append(out, e), b[head+n:]
	}
	return out
}

func (e element) encode(b []byte) []byte {
	b = binary.LittleEndian.AppendUint16(b, uint16(e.tag>>16))
	b = binary.LittleEndian.AppendUint16(b, uint16(e.tag))
	b = append(b, e.vr...)
	if strings.Contains(long, e.vr) {
		b = binary.LittleEndian.AppendUint32(append(b, 0, 0), uint32(len(e.value)))
	} else {
		b = binary.LittleEndian.AppendUint16(b, uint16(len(e.value)))
	}
	return append(b, e.value...)
}

// setElements puts elements into a film in the place of those of the same tag.
func setElements(path string, set ...element) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	els := slices.DeleteFunc(elements(b), func(old element) bool {
		return slices.ContainsFunc(set, func(e element) bool { return e.tag == old.tag })
	})
	els = append(els, set...)
	slices.SortFunc(els, func(a, b element) int { return int(int64(a.tag) - int64(b.tag)) })
	out := slices.Clone(b[:132])
	for _, e := range els {
		out = e.encode(out)
	}
	return os.WriteFile(path, out, 0o600)
}

// nameFilm puts an invented person, clinic and device into a film.
func nameFilm(path string) error {
	return setElements(path,
		element{0x00080012, "DA", []byte("20120305")},
		element{0x00080050, "SH", []byte("ACC-55120 ")},
		element{0x00080080, "LO", []byte("INVENTED CLINIC ")},
		element{0x00081030, "LO", []byte("PELVIS OF QUINCE")},
		element{0x00091001, "LO", []byte("PRIVATE QUINCE")},
		element{0x00100010, "PN", []byte("QUINCE^QUILL")},
		element{0x00100030, "DA", []byte("19640717")},
		element{0x00101010, "AS", []byte("047Y")},
		element{0x00181000, "LO", []byte("SERIAL-8812 ")},
		element{0x00280301, "CS", []byte("YES ")},
		element{0x00204000, "LT", []byte("Quince came late")})
}

// letterFilm writes a line of letters into a flat film, as bright as it may be.
func letterFilm(path string) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	els := elements(b)
	pixels := els[len(els)-1]
	mask := image.NewAlpha(image.Rect(0, 0, 300, 200))
	(&font.Drawer{Dst: mask, Src: image.Opaque, Face: basicfont.Face7x13, Dot: fixed.P(20, 170)}).DrawString("QUINCE 1952-02-29")
	for i, a := range mask.Pix {
		if a > 0 {
			binary.LittleEndian.PutUint16(pixels.value[2*i:], 4095)
		}
	}
	return setElements(path, pixels)
}

// identifiers are the texts, dates, times and UIDs in a file.
func identifiers(path string) (out []string, err error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	for _, e := range elements(b) {
		v := strings.TrimRight(string(e.value), " \x00")
		switch e.vr {
		case "DA", "TM", "DT", "PN", "LO", "SH", "LT", "UI":
			const rescaleType = 0x00281054 // "US", unspecified
			if e.tag>>16 != 2 && e.tag != rescaleType && v != "" && !strings.HasPrefix(v, "1.2.840.10008.") {
				out = append(out, v)
			}
		}
	}
	return append(out, "QUINCE", "Quince", "INVENTED"), nil
}

// contains looks for a text as bytes and as UTF-16 of both orders.
func contains(b []byte, text string) bool {
	if bytes.Contains(b, []byte(text)) {
		return true
	}
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		var wide []byte
		for _, u := range utf16.Encode([]rune(text)) {
			wide = order.AppendUint16(wide, u)
		}
		if bytes.Contains(b, wide) {
			return true
		}
	}
	return false
}

// written returns the files in a folder, which are all that is in it.
func (s *script) written(at, dir string) (paths []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(s.t, err, at)
	for _, e := range entries {
		require.Regexp(s.t, `^P[A-Z2-7]{10}-\d{8}-[0-9a-f]{8}\.dcm$`, e.Name(), at)
		paths = append(paths, filepath.Join(dir, e.Name()))
	}
	require.NotEmpty(s.t, paths, at)
	return paths
}

// deidentified are the words of scripts about films without identity:
//
//	named A.dcm               give the film a person, a clinic and a device
//	gone DIR A.dcm...         none of the films' identifiers is in DIR
//	has DIR TEXT, lacks       every file, no file in DIR has TEXT
//	files DIR N               DIR holds N films and nothing else
//	secret FILE               at least 32 bytes, for its owner alone; private: make it so
//	apart A.dcm B.dcm         days apart as their copies are, by the last JSON
//	lettered A.dcm            write a line of letters into the flat film's picture
//	text FILE WORDS           FILE has the words
//	moved K A.dcm ID          K has one line for ID: its code, and the days between A.dcm and its copy
//	same-patient A.dcm B.dcm  and other-patient: of their copies
//	value DIR X Y V           the stored value of the one flat film in DIR is V
//	copied A.dcm X Y V        that of the film's copy, by the last JSON, is V
func (s *script) deidentified(at, word string, f []string) bool {
	t := s.t
	switch word {
	case "named":
		require.NoError(t, nameFilm(f[0]), at)
	case "gone":
		for _, film := range f[1:] {
			marks, err := identifiers(film)
			require.NoError(t, err, at)
			require.Greater(t, len(marks), 12, "%s: %v", at, marks)
			for _, m := range marks {
				s.find(at, f[0], m, false)
			}
		}
	case "has", "lacks":
		s.find(at, f[0], f[1], word == "has")
	case "files":
		require.Equal(t, f[1], strconv.Itoa(len(s.written(at, f[0]))), at)
	case "secret":
		info, err := os.Stat(f[0])
		require.NoError(t, err, at)
		require.Greater(t, info.Size(), int64(32), at)
		if runtime.GOOS != "windows" {
			require.EqualValues(t, 0o600, info.Mode().Perm(), at)
		}
	case "private":
		require.NoError(t, os.Chmod(f[0], 0o600), at)
	case "lettered":
		require.NoError(t, letterFilm(f[0]), at)
	case "text":
		b, err := os.ReadFile(f[0])
		require.NoError(t, err, at)
		require.Contains(t, string(b), strings.Join(f[1:], " "), at)
	case "moved":
		b, err := os.ReadFile(f[0])
		require.NoError(t, err, at)
		made := s.copyOf(at, f[1])
		days := int(dateOf(t, made).Sub(dateOf(t, f[1])).Hours() / 24)
		line := fmt.Sprintf("\n%s\t%s\t%d\n", f[2], textOf(t, made, 0x00100020), days)
		require.Equal(t, 1, strings.Count(string(b), line), "%s: %q in\n%s", at, line, b)
	case "apart":
		require.Equal(t, dateOf(t, f[1]).Sub(dateOf(t, f[0])), dateOf(t, s.copyOf(at, f[1])).Sub(dateOf(t, s.copyOf(at, f[0]))), at)
		require.NotEqual(t, dateOf(t, f[0]), dateOf(t, s.copyOf(at, f[0])), at)
	case "same-patient", "other-patient":
		a, b := textOf(t, s.copyOf(at, f[0]), 0x00100020), textOf(t, s.copyOf(at, f[1]), 0x00100020)
		require.Equal(t, word == "same-patient", a == b, at)
	case "value":
		paths := s.written(at, f[0])
		require.Len(t, paths, 1, at)
		s.valueAt(at, paths[0], f[1], f[2], f[3])
	case "copied":
		s.valueAt(at, s.copyOf(at, f[0]), f[1], f[2], f[3])
	default:
		return false
	}
	return true
}

func (s *script) find(at, dir, text string, want bool) {
	for _, path := range s.written(at, dir) {
		b, err := os.ReadFile(path)
		require.NoError(s.t, err, at)
		require.Equal(s.t, want, contains(b, text), "%s: %q in %s", at, text, path)
		require.False(s.t, contains([]byte(path), text), "%s: %q in the name %s", at, text, path)
	}
}

// copyOf is the copy of a film by the last output.
func (s *script) copyOf(at, film string) string {
	var list []struct{ Film, Written string }
	require.NoError(s.t, json.Unmarshal(s.out.Bytes(), &list), at)
	for _, one := range list {
		if one.Film == film {
			return one.Written
		}
	}
	s.t.Fatalf("%s: no copy of %s", at, film)
	return ""
}

func textOf(t *testing.T, path string, tag uint32) string {
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, e := range elements(b) {
		if e.tag == tag {
			return strings.TrimRight(string(e.value), " \x00")
		}
	}
	t.Fatalf("%s has no %08X", path, tag)
	return ""
}

func dateOf(t *testing.T, path string) time.Time {
	when, err := time.Parse("20060102", textOf(t, path, 0x00080022))
	require.NoError(t, err)
	return when
}

// valueAt checks a stored value of a flat film.
func (s *script) valueAt(at, path string, x, y, want string) {
	column, err := strconv.Atoi(x)
	require.NoError(s.t, err, at)
	row, err := strconv.Atoi(y)
	require.NoError(s.t, err, at)
	b, err := os.ReadFile(path)
	require.NoError(s.t, err, at)
	els := elements(b)
	pixels := els[len(els)-1].value
	require.Len(s.t, pixels, 2*300*200, at)
	require.Equal(s.t, want, strconv.Itoa(int(binary.LittleEndian.Uint16(pixels[2*(row*300+column):]))), at)
}

func TestKeyThatOthersCanRead(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("permissions are not of this kind")
	}
	t.Chdir(t.TempDir())
	require.NoError(t, writeFilm("a.dcm", "left", "2012-03-04", []string{"flat"}))
	require.NoError(t, os.WriteFile("k", []byte("linerwatch key\na key of 32 bytes for this test."), 0o644))
	var out, errs bytes.Buffer
	args := []string{"deidentify", "--key-file", "k", "--out", "out", "a.dcm"}
	require.Equal(t, 0, cli.Run(t.Context(), args, cli.Env{Stdout: &out, Stderr: &errs}))
	require.Equal(t, "linerwatch: deidentify: others can read the key file k; allow it to yourself alone: chmod 600\n", errs.String())
	require.Contains(t, out.String(), "the film names no patient")
}
