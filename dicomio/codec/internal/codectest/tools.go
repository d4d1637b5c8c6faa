package codectest

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Run runs a tool on a file and returns the file it writes. IN and OUT among the
// arguments stand for the paths, which end like inName and outName. The test is
// skipped where the tool is not installed.
func Run(tb testing.TB, file []byte, inName, outName, name string, args ...string) []byte {
	tb.Helper()
	if _, err := exec.LookPath(name); err != nil {
		tb.Skipf("%s is not installed", name)
	}
	dir := tb.TempDir()
	in, out := filepath.Join(dir, inName), filepath.Join(dir, outName)
	if err := os.WriteFile(in, file, 0o600); err != nil {
		tb.Fatal(err)
	}
	line := make([]string, len(args))
	for i, a := range args {
		line[i] = strings.NewReplacer("IN", in, "OUT", out).Replace(a)
	}
	if said, err := exec.Command(name, line...).CombinedOutput(); err != nil {
		tb.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, said)
	}
	made, err := os.ReadFile(out)
	if err != nil {
		tb.Fatal(err)
	}
	return made
}

// Convert runs a tool as `name args... in out` on a DICOM file.
func Convert(tb testing.TB, file []byte, name string, args ...string) []byte {
	tb.Helper()
	return Run(tb, file, "in.dcm", "out.dcm", name, append(args[:len(args):len(args)], "IN", "OUT")...)
}

// PGM is a film as a binary portable grey map, two bytes a sample above 8 bits.
func PGM(pix []uint16, rows, columns, bits int) []byte {
	b := fmt.Appendf(nil, "P5\n%d %d\n%d\n", columns, rows, 1<<bits-1)
	for _, v := range pix {
		if bits > 8 {
			b = append(b, byte(v>>8))
		}
		b = append(b, byte(v))
	}
	return b
}

// Compress wraps a film, compresses it with a tool and returns the codestream.
func Compress(tb testing.TB, pix []uint16, rows, columns, bits int, name string, args ...string) []byte {
	tb.Helper()
	return mustFrame(tb, Convert(tb, DICOM(pix, rows, columns, bits), name, args...))
}

// Native is the uncompressed samples of a file.
func Native(tb testing.TB, file []byte, pixels, bits int) []uint16 {
	tb.Helper()
	return Samples(mustFrame(tb, file), pixels, bits)
}

func mustFrame(tb testing.TB, file []byte) []byte {
	tb.Helper()
	frame, err := Frame(file)
	if err != nil {
		tb.Fatal(err)
	}
	return frame
}

// ReadPGM reads the samples of a binary portable grey map without comments but
// one after the magic number.
func ReadPGM(b []byte, pixels int) ([]uint16, error) {
	head, body, _ := bytes.Cut(b, []byte("\n"))
	if string(head) == "P5" && len(body) > 0 && body[0] == '#' {
		_, body, _ = bytes.Cut(body, []byte("\n"))
	}
	var columns, rows, top int
	if _, err := fmt.Sscan(string(body[:min(len(body), 40)]), &columns, &rows, &top); err != nil {
		return nil, fmt.Errorf("codectest: grey map: %w", err)
	}
	width := 1
	if top > 255 {
		width = 2
	}
	if columns*rows != pixels || len(body) < width*pixels {
		return nil, fmt.Errorf("codectest: grey map of %d x %d", columns, rows)
	}
	body = body[len(body)-width*pixels:]
	pix := make([]uint16, pixels)
	for i := range pix {
		for _, v := range body[width*i : width*(i+1)] {
			pix[i] = pix[i]<<8 | uint16(v)
		}
	}
	return pix, nil
}
