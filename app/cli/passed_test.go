package cli_test

import (
	"bytes"
	"image"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/dicomio"
)

// A folder's other pictures are told on the error stream by kind.
func TestOtherPicturesArePassedOver(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.Mkdir("disc", 0o700))
	film := &dicomio.Film{Pixels: image.NewGray16(image.Rect(0, 0, 4, 3)), Bits: 12, Photometric: "MONOCHROME2", PatientCode: "A"}
	require.NoError(t, dicomio.WriteFile("disc/film", film))
	b, err := os.ReadFile("disc/film")
	require.NoError(t, err)
	slice := bytes.ReplaceAll(b, []byte("1.2.840.10008.5.1.4.1.1.1.1\x00"), []byte("1.2.840.10008.5.1.4.1.1.2\x00\x00\x00"))
	for _, name := range []string{"disc/a", "disc/b"} {
		require.NoError(t, os.WriteFile(name, slice, 0o600))
	}
	var out, errs bytes.Buffer
	require.Zero(t, cli.Run(t.Context(), []string{"film", "--format", "csv", "disc"}, cli.Env{Stdout: &out, Stderr: &errs}))
	require.Equal(t, "linerwatch: film: passed over 2 CT slices\n", errs.String())
	require.Equal(t, 2, bytes.Count(out.Bytes(), []byte("\n")), "a head and one film")
}
