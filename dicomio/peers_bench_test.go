package dicomio

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkDisc finds the films on a disc of 600 CT slices and three radiographs,
// beside the time that dcmdump takes for all the headers.
func BenchmarkDisc(b *testing.B) {
	dir := b.TempDir()
	slice := object(explicitLittle, imageStorage+"2", "CT", "PELVIS", 512, 512)
	for i := range 600 {
		require.NoError(b, os.WriteFile(filepath.Join(dir, fmt.Sprintf("IM%04d", i)), slice, 0o600))
	}
	for i := range 3 {
		require.NoError(b, WriteFile(filepath.Join(dir, fmt.Sprintf("IM1%03d", i)), smooth(2500, 2000, 12)))
	}
	paths, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(b, err)
	b.Run("here", func(b *testing.B) {
		for b.Loop() {
			films, passed, err := Survey(dir)
			require.NoError(b, err)
			require.Len(b, films, 3)
			require.Equal(b, []string{"600 CT slices"}, said(passed))
		}
	})
	b.Run("dcmdump", func(b *testing.B) {
		if _, err := exec.LookPath("dcmdump"); err != nil {
			b.Skip("dcmdump is not installed")
		}
		for b.Loop() {
			_, err := exec.Command("dcmdump", paths...).Output()
			require.NoError(b, err)
		}
	})
}

// BenchmarkPeers opens a film of 3000 x 3000 in each syntax, beside the time
// that dcmtk and gdcm take to turn the same file into an uncompressed one. Theirs
// holds the start of a process and the writing of 18 MB: the line `native` is
// that alone.
func BenchmarkPeers(b *testing.B) {
	dir := b.TempDir()
	film := smooth(3000, 3000, 12)
	native := filepath.Join(dir, "native.dcm")
	require.NoError(b, WriteFile(native, film))
	for _, c := range []struct {
		name   string
		encode []string
		peers  [][]string
	}{
		{"native", []string{"dcmconv", "+te"}, [][]string{{"dcmconv", "+te"}, {"gdcmconv", "--raw"}}},
		{"rle", []string{"dcmcrle"}, [][]string{{"dcmdrle"}, {"gdcmconv", "--raw"}}},
		{"lossless", []string{"dcmcjpeg", "+e1"}, [][]string{{"dcmdjpeg"}, {"gdcmconv", "--raw"}}},
		{"jpegls", []string{"dcmcjpls"}, [][]string{{"dcmdjpls"}, {"gdcmconv", "--raw"}}},
		{"jpeg2000", []string{"gdcmconv", "--j2k"}, [][]string{{"gdcmconv", "--raw"}}},
		{"jpeg12", []string{"dcmcjpeg", "+ee"}, [][]string{{"dcmdjpeg"}, {"gdcmconv", "--raw"}}},
	} {
		path, out := filepath.Join(dir, c.name+"-in.dcm"), filepath.Join(dir, "out.dcm")
		run := func(b *testing.B, args []string, from, to string) {
			if _, err := exec.LookPath(args[0]); err != nil {
				b.Skipf("%s is not installed", args[0])
			}
			said, err := exec.Command(args[0], append(args[1:len(args):len(args)], from, to)...).CombinedOutput()
			require.NoError(b, err, "%s", said)
		}
		b.Run(c.name+"/here", func(b *testing.B) {
			run(b, c.encode, native, path)
			f, err := Open(path)
			require.NoError(b, err)
			if !f.Lossy {
				require.True(b, bytes.Equal(film.Pixels.Pix, f.Pixels.Pix))
			}
			for b.Loop() {
				if _, err := Open(path); err != nil {
					b.Fatal(err)
				}
			}
		})
		for _, args := range c.peers {
			b.Run(c.name+"/"+args[0], func(b *testing.B) {
				for b.Loop() {
					run(b, args, path, out)
				}
			})
		}
	}
}
