package dicomio

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"linerwatch/dicomio/codec"
)

const (
	maxFile   = 1 << 30 // the largest file that is read
	hashPart  = 1 << 20 // bytes hashed at a time
	firstRead = 1 << 16 // bytes read first of a file of which only the header is asked
)

// Open reads a film. Errors are one line, name the file, and wrap ErrMalformed
// or ErrUnsupported where the content is at fault.
func Open(path string) (*Film, error) { return OpenFrame(path, 1) }

// OpenFrame reads one frame, counted from 1, of a file that may have several.
func OpenFrame(path string, frame int) (*Film, error) {
	file, size, err := regular(path)
	if err != nil {
		return nil, named(path, err)
	}
	defer file.Close() // only read from
	defer files.enter(int64(size))()
	b, hashed, err := readAll(file, size)
	if err != nil {
		return nil, named(path, err)
	}
	f, err := decodeHashed(b, frame, hashed)
	if err != nil {
		return nil, named(path, err)
	}
	f.Path, f.SHA256 = path, hashed.wait()
	return f, nil
}

// decode makes a film of a file's bytes. It may write into them and keep them.
func decode(b []byte) (*Film, error) { return decodeFrame(b, 1) }

func decodeFrame(b []byte, frame int) (*Film, error) { return decodeHashed(b, frame, nil) }

// decodeHashed is decodeFrame of bytes that may still be hashed.
func decodeHashed(b []byte, frame int, hashed *hashing) (*Film, error) {
	kind := sniff(b)
	if kind != "DICOM" && hashed != nil {
		hashed.wait()
	}
	switch {
	case kind == "DICOM":
		return decodeDICOM(b, frame, hashed)
	case kind == "TIFF":
		return decodeTIFF(b, frame)
	case frame != 1:
		return nil, refused("read.no-frame", "no frame %d of %d", "Frame", frame, "Frames", 1)
	case kind == "PNG":
		return decodePNG(b)
	case kind == "JPEG":
		return decodeJPEG(b)
	case kind == "JPEG 2000":
		return decodeJP2(b)
	case kind == "BMP":
		return decodeBMP(b)
	}
	return nil, foreign(sniff(b))
}

// Inspect reads what a file says of its film without the pixels: Pixels is nil
// and SHA256 empty. Of a DICOM file it reads no more than the header.
func Inspect(path string) (*Film, error) {
	f, err := inspect(path)
	if err != nil {
		return nil, named(path, err)
	}
	f.Path = path
	return f, nil
}

func inspect(path string) (*Film, error) {
	file, size, err := regular(path)
	if err != nil {
		return nil, err
	}
	defer file.Close() // only read from
	for n := min(size, firstRead); ; n = min(size, 4*n) {
		b := make([]byte, n)
		if _, err := file.ReadAt(b, 0); err != nil {
			return nil, refused("read.changed", "changed while it was read: %v", "Why", err)
		}
		var f *Film
		switch kind := sniff(b); kind {
		case "DICOM":
			f, err = inspectDICOM(b, size)
		case "PNG":
			f, err = inspectPNG(b, size)
		case "TIFF":
			f, _, err = readTIFF(file, int64(size), 1)
		case "JPEG":
			f, err = inspectJPEG(b, size)
		case "JPEG 2000":
			f, err = inspectJP2(b, size)
		case "BMP":
			f, err = inspectBMP(b, size)
		default:
			return nil, foreign(kind)
		}
		if !errors.Is(err, errMore) || n == size {
			return f, err
		}
	}
}

// named puts the file's name before an error, once.
func named(path string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return &FileError{path, err}
}

// FileError is what is wrong with a file.
type FileError struct {
	Path string
	Err  error
}

func (e *FileError) Error() string { return "dicomio: " + shown(e.Path) + ": " + e.Err.Error() }

// Unwrap returns what is wrong, without the file's name.
func (e *FileError) Unwrap() error { return e.Err }

// Coded returns the code and the values of a Fault that names the file.
func (e *FileError) Coded() (code string, values map[string]any) {
	return "read.file", map[string]any{"File": shown(e.Path), "Why": e.Err}
}

// shown is a path as one line can show it.
func shown(path string) string {
	if strings.ContainsFunc(path, func(r rune) bool { return r < ' ' || r == 0x7F }) {
		return fmt.Sprintf("%q", path)
	}
	return path
}

// regular opens a file that may be a film.
func regular(path string) (f *os.File, size int, err error) {
	info, err := os.Stat(path) // before it is opened: opening a pipe may wait for ever
	if err != nil {
		return nil, 0, err
	}
	switch size := info.Size(); {
	case info.IsDir():
		return nil, 0, refused("read.folder", "is a folder; films are files")
	case !info.Mode().IsRegular():
		return nil, 0, unsupported("read.not-regular", "not a regular file")
	case size == 0:
		return nil, 0, malformed("read.empty", "the file is empty")
	case size > maxFile:
		return nil, 0, unsupported("read.large-file", "%d MB; films up to %d MB are read", "MB", size>>20, "Most", maxFile>>20)
	}
	f, err = os.Open(path)
	return f, int(info.Size()), err
}

// read reads a file that may be a film.
func read(path string) (b []byte, sum string, err error) {
	f, size, err := regular(path)
	if err != nil {
		return nil, "", err
	}
	defer f.Close() // only read from
	b, h, err := readAll(f, size)
	if err != nil {
		return nil, "", err
	}
	return b, h.wait(), nil
}

// hashing is the hash of a file that is taken part by part behind its reader. Nobody
// may write into a part before it has been hashed.
type hashing struct {
	upTo chan int // ends of the parts that have been hashed; closed after the last
	hash hash.Hash
}

// wait returns the hash of the whole file.
func (h *hashing) wait() string {
	for range h.upTo {
	}
	return hex.EncodeToString(h.hash.Sum(nil))
}

// readAll reads a file into a buffer of its size and hashes each part while the
// next is read.
func readAll(f *os.File, size int) (b []byte, h *hashing, err error) {
	b = codec.Room[byte](size)
	n := size/hashPart + 1
	h = &hashing{upTo: make(chan int, n), hash: sha256.New()}
	parts := make(chan []byte, n)
	go func() {
		defer close(h.upTo)
		end := 0
		for p := range parts {
			h.hash.Write(p)
			end += len(p)
			h.upTo <- end
		}
	}()
	defer close(parts)
	for p := range slices.Chunk(b, hashPart) {
		if _, err = io.ReadFull(f, p); err != nil {
			return nil, nil, refused("read.changed", "changed while it was read: %v", "Why", err)
		}
		parts <- p
	}
	return b, h, nil
}

func isDICOM(b []byte) bool { return len(b) >= preamble+4 && string(b[preamble:preamble+4]) == "DICM" }

// signatures are the first bytes of files that are told apart by them.
var signatures = []struct{ start, kind string }{
	{"\x89PNG\r\n\x1a\n", "PNG"},
	{"II*\x00", "TIFF"},
	{"MM\x00*", "TIFF"},
	{"II+\x00", "TIFF"},
	{"MM\x00+", "TIFF"},
	{"\xff\xd8\xff", "JPEG"},
	{"%PDF", "PDF"},
	{"PK\x03\x04", "ZIP"},
	{"\x1f\x8b", "gzip"},
	{"GIF8", "GIF"},
	{"SQLite format 3\x00", "SQLite"},
	{"\x00\x00\x00\x0cjP  ", "JPEG 2000"},
	{"\xff\x4f\xff\x51", "JPEG 2000"},
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
	switch {
	case isBMP(b):
		return "BMP"
	case bare(b):
		return "DICOM"
	}
	return ""
}

// bare reports whether b looks like a data set without preamble: it begins with
// an element of group 2 or 8 that has a VR or, in little endian, ends inside b.
func bare(b []byte) bool {
	if len(b) < 16 {
		return false
	}
	_, explicit := known[[2]byte(b[4:])]
	if b[0] == 0 && b[1] == 8 && b[2] == 0 {
		return explicit
	}
	if b[0] != 2 && b[0] != 8 || b[1] != 0 || b[3] != 0 {
		return false
	}
	return explicit || uint64(binary.LittleEndian.Uint32(b[4:])) < uint64(len(b))
}

func foreign(kind string) error {
	if kind == "" {
		return unsupported("read.foreign", "neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP")
	}
	return unsupported("read.foreign-kind", "%s, not a film; DICOM, PNG, TIFF, JPEG, JPEG 2000 and BMP are read", "Kind", kind)
}

// anonymous is the fault of a file that does not say who it is of, by its format.
func anonymous(kind string) error {
	switch kind {
	case "PNG", "TIFF", "JPEG", "JPEG 2000", "BMP":
		return unsupported("read.no-identity", "%s; only DICOM films say who they are of", "Format", kind)
	}
	return foreign(kind)
}
