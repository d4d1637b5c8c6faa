package dicomio

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
)

// maxFile bounds the size of a film's file.
const maxFile = 1 << 30

// Open reads a film. Errors are one line, name the file, and wrap ErrMalformed
// or ErrUnsupported where the content is at fault.
func Open(path string) (*Film, error) {
	f, err := open(path)
	if err != nil {
		return nil, named(path, err)
	}
	return f, nil
}

func open(path string) (*Film, error) {
	b, err := read(path)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(b)
	var f *Film
	switch kind := sniff(b); kind {
	case "DICOM":
		f, err = decodeDICOM(b)
	case "PNG":
		f, err = decodePNG(b)
	case "TIFF":
		f, err = decodeTIFF(b)
	default:
		return nil, foreign(kind)
	}
	if err != nil {
		return nil, err
	}
	f.Path, f.SHA256 = path, hex.EncodeToString(sum[:])
	f.Columns, f.Rows = f.Pixels.Rect.Dx(), f.Pixels.Rect.Dy()
	return f, nil
}

// named puts the file's name before an error, once.
func named(path string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return fmt.Errorf("dicomio: %s: %w", shown(path), err)
}

// shown is a path as one line can show it.
func shown(path string) string {
	if strings.ContainsFunc(path, func(r rune) bool { return r < ' ' || r == 0x7F }) {
		return fmt.Sprintf("%q", path)
	}
	return path
}

// read reads a regular file into a buffer of its size.
func read(path string) ([]byte, error) {
	info, err := os.Stat(path) // before it is opened: opening a pipe may wait for ever
	if err != nil {
		return nil, err
	}
	switch size := info.Size(); {
	case info.IsDir():
		return nil, errors.New("is a folder; films are files")
	case !info.Mode().IsRegular():
		return nil, unsupported("not a regular file")
	case size == 0:
		return nil, malformed("the file is empty")
	case size > maxFile:
		return nil, unsupported("%d MB; films up to %d MB are read", size>>20, maxFile>>20)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close() // only read from
	b := make([]byte, info.Size())
	if _, err := io.ReadFull(f, b); err != nil {
		return nil, fmt.Errorf("changed while it was read: %w", err)
	}
	return b, nil
}

func isDICOM(b []byte) bool { return len(b) >= preamble+4 && string(b[preamble:preamble+4]) == "DICM" }

// signatures are the first bytes of files that are told apart by them.
var signatures = []struct{ start, kind string }{
	{"\x89PNG\r\n\x1a\n", "PNG"},
	{"II*\x00", "TIFF"},
	{"MM\x00*", "TIFF"},
	{"II+\x00", "a BigTIFF image"},
	{"MM\x00+", "a BigTIFF image"},
	{"\xff\xd8\xff", "a JPEG image"},
	{"%PDF", "a PDF document"},
	{"PK\x03\x04", "a ZIP archive"},
	{"\x1f\x8b", "a gzip archive"},
	{"GIF8", "a GIF image"},
	{"BM", "a BMP image"},
	{"SQLite format 3\x00", "a database"},
	{"\x00\x00\x00\x0cjP  ", "a JPEG 2000 image"},
	{"\xff\x4f\xff\x51", "a JPEG 2000 image"},
}

// sniff tells the format from the first bytes; "" is none it knows.
func sniff(b []byte) string {
	if isDICOM(b) {
		return "DICOM"
	}
	for _, s := range signatures {
		if strings.HasPrefix(string(b[:min(len(b), 16)]), s.start) {
			return s.kind
		}
	}
	if bare(b) {
		return "DICOM"
	}
	return ""
}

// bare reports whether b looks like a data set without preamble: it begins with
// an element of group 2 or 8, little endian, that has a VR or ends inside b.
func bare(b []byte) bool {
	if len(b) < 16 || b[0] != 2 && b[0] != 8 || b[1] != 0 || b[3] != 0 {
		return false
	}
	if _, ok := known[[2]byte(b[4:])]; ok {
		return true
	}
	n := uint32(b[4]) | uint32(b[5])<<8 | uint32(b[6])<<16 | uint32(b[7])<<24
	return uint64(n) < uint64(len(b))
}

func foreign(kind string) error {
	if kind == "" {
		return unsupported("neither DICOM, PNG nor TIFF")
	}
	return unsupported("%s, not a film; DICOM, PNG and TIFF are read", kind)
}
