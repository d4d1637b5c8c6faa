package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const (
	mostHostile  = 512 << 10 // KB that a process may ever hold at once
	hostileFiles = "LINERWATCH_HOSTILE_FILES"
)

// peak is the most memory that this process has held, in KB; ok is false where the system
// does not tell it.
func peak() (kb int, ok bool) {
	b, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, false
	}
	m := regexp.MustCompile(`VmHWM:\s*(\d+) kB`).FindSubmatch(b)
	if m == nil {
		return 0, false
	}
	kb, err = strconv.Atoi(string(m[1]))
	return kb, err == nil
}

// A process that opens what is made to be bad, one file after the other, never holds more
// than 512 MB: this test runs itself once more, so that nothing but the opening counts.
func TestMemoryOfHostileFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector, whose memory would count, goes with -short")
	}
	if _, ok := peak(); !ok {
		t.Skip("the system does not tell the most memory that a process has held")
	}
	if dir := os.Getenv(hostileFiles); dir != "" {
		openHostile(t, dir)
		return
	}
	dir := t.TempDir()
	n := 0
	keep := func(name string, b []byte) {
		n++
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%03d %s", n, strings.ReplaceAll(name, "/", "-"))), b, 0o600))
	}
	bad, seeds, forged := badFiles(t), seeds(t), forgedStreams(t)
	for _, name := range slices.Sorted(maps.Keys(bad)) {
		keep(name, bad[name].b)
	}
	for _, name := range slices.Sorted(maps.Keys(seeds)) {
		keep("seed "+name, seeds[name])
	}
	for _, name := range slices.Sorted(maps.Keys(forged)) {
		keep(name, forged[name])
	}
	c := exec.Command(os.Args[0], "-test.run=^TestMemoryOfHostileFiles$", "-test.v")
	c.Env = append(os.Environ(), hostileFiles+"="+dir)
	said, err := c.CombinedOutput()
	require.NoError(t, err, "%s", said)
	m := regexp.MustCompile(`opened (\d+) files, of which (\d+) are films, with (\d+) KB`).FindSubmatch(said)
	require.NotNil(t, m, "%s", said)
	require.Equal(t, strconv.Itoa(n), string(m[1]))
	t.Logf("%s", said)
	kb, err := strconv.Atoi(string(m[3]))
	require.NoError(t, err)
	require.LessOrEqual(t, kb, mostHostile)
}

// openHostile opens the files of a folder and says what it took.
func openHostile(t *testing.T, dir string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	films, before := 0, 0
	for _, e := range entries {
		if _, err := Open(filepath.Join(dir, e.Name())); err == nil {
			films++
		}
		kb, _ := peak()
		if kb > before+1<<14 {
			t.Logf("%d KB with %s", kb, e.Name())
		}
		before = kb
	}
	fmt.Printf("opened %d files, of which %d are films, with %d KB\n", len(entries), films, before)
}

// forgedStreams are the codestreams on which the decoders' fuzz tests begin, as films: as they are, and
// with twice the pixels of the largest flat detector (codec.MaxPixels) stated in header and
// codestream, and bytes enough behind it for that to be possible.
func forgedStreams(t *testing.T) map[string][]byte {
	t.Helper()
	const side = 6000
	out := map[string][]byte{}
	for pattern, uid := range map[string]string{
		"jpeg/testdata/*-8.jpg": "1.2.840.10008.1.2.4.50", "jpeg/testdata/*-12.jpg": "1.2.840.10008.1.2.4.51",
		"lossless/testdata/*.jpg": "1.2.840.10008.1.2.4.57", "jpegls/testdata/*.jls": "1.2.840.10008.1.2.4.81",
		"jpeg2000/testdata/gdcm*.j2k": "1.2.840.10008.1.2.4.91", "jpeg2000/testdata/opj*.j2k": "1.2.840.10008.1.2.4.91",
		"jpeg2000/testdata/ht*.j2k": "1.2.840.10008.1.2.4.203", "rle/testdata/*.rle": "1.2.840.10008.1.2.5",
	} {
		paths, err := filepath.Glob(filepath.Join("codec", pattern))
		require.NoError(t, err)
		require.NotEmpty(t, paths, pattern)
		for _, path := range paths {
			stream, err := os.ReadFile(path)
			require.NoError(t, err)
			bits, err := strconv.Atoi(regexp.MustCompile(`-(8|12|16)\b`).FindStringSubmatch(filepath.Base(path))[1])
			require.NoError(t, err)
			whole := compressedFrame(t, uid, bytes.Clone(stream), bits)
			_, err = decode(bytes.Clone(whole))
			require.NoError(t, err, path)
			out["stream "+path] = whole
			forged := compressedFrame(t, uid, append(resized(bytes.Clone(stream), side), make([]byte, 1<<20)...), bits)
			for _, of := range []uint32{0x00280010, 0x00280011} {
				forged = change(t, forged, of, byte(side&0xFF), byte(side>>8))
			}
			out["forged "+path] = forged
		}
	}
	return out
}

// resized states another size in the frame header of a codestream of 40 x 33 pixels.
func resized(stream []byte, side int) []byte {
	be := binary.BigEndian
	if bytes.HasPrefix(stream, []byte{0xFF, 0x4F, 0xFF, 0x51}) { // SIZ (ITU-T T.800 A.5.1)
		be.PutUint32(stream[8:], uint32(side))
		be.PutUint32(stream[12:], uint32(side))
		if be.Uint32(stream[24:]) == 33 && be.Uint32(stream[28:]) == 40 { // one tile
			be.PutUint32(stream[24:], uint32(side))
			be.PutUint32(stream[28:], uint32(side))
		}
		return stream
	}
	if at := bytes.Index(stream, []byte{0, 40, 0, 33}); at >= 0 && stream[0] == 0xFF { // Y and X of a SOF (T.81 B.2.2)
		be.PutUint16(stream[at:], uint16(side))
		be.PutUint16(stream[at+2:], uint16(side))
	}
	return stream
}
