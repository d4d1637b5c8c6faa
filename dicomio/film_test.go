package dicomio

import (
	"bytes"
	"image"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noise is a film of random stored values that states everything.
func noise(rows, columns, bits int) *Film {
	r := rand.New(rand.NewPCG(1, uint64(bits)))
	img := image.NewGray16(image.Rect(0, 0, columns, rows))
	for i := 0; i < len(img.Pix); i += 2 {
		v := uint16(r.Uint32()) & mask(bits)
		img.Pix[i], img.Pix[i+1] = byte(v>>8), byte(v)
	}
	return &Film{
		Pixels: img, Bits: bits, Photometric: "MONOCHROME2", PatientCode: "LW-0007",
		Date: time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC), DateSource: "acquisition",
		Laterality: "R", View: "AP",
		Geometry: Geometry{
			Imager: [2]float64{0.15, 0.15}, Pixel: [2]float64{0.1304347826087, 0.1304347826087}, PixelKind: "GEOMETRY",
			SourceImage: 1150, SourcePatient: 1000, Magnification: 1.15,
		},
	}
}

func encoded(t testing.TB, f *Film) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, f))
	return b.Bytes()
}

func file(t testing.TB, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, b, 0o600))
	return path
}

func TestWrittenFilmComesBackBitForBit(t *testing.T) {
	for _, bits := range []int{8, 10, 12, 15, 16} {
		for _, photometric := range []string{"MONOCHROME1", "MONOCHROME2"} {
			for _, signed := range []bool{false, true} {
				f := noise(7, 5, bits)
				f.Photometric, f.Signed = photometric, signed
				got, err := Open(file(t, "a.dcm", encoded(t, f)))
				require.NoError(t, err)
				assert.Equal(t, f.Pixels, got.Pixels, "%d bits, %s, signed %v", bits, photometric, signed)
				assert.Equal(t, f.Geometry, got.Geometry)
				assert.Equal(t, f.Date, got.Date)
				assert.Equal(t, "acquisition", got.DateSource)
				assert.Equal(t, "LW-0007", got.PatientCode)
				assert.Equal(t, "R", got.Laterality)
				assert.Equal(t, "AP", got.View)
				assert.Equal(t, "DX", got.Modality)
				assert.Equal(t, explicitLittle, got.TransferSyntax)
				assert.Equal(t, bits, got.Bits)
				assert.Empty(t, got.Warnings)
			}
		}
	}
}
