package cli_test

import (
	"fmt"
	"image"
	"image/color"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// imports are the words of scripts about films and tables of many patients:
//
//	small A.dcm CODE SIDE DATE N   a small film of a patient, whose picture is the Nth
//	hide PATH, unhide PATH         a file is elsewhere, is back
//	tree DIR FROM TO SIDE YEAR N   of patients P01 and so on, N small films each, one a year
func (s *script) imports(at, word string, f []string) bool {
	number := func(i int) int {
		n, err := strconv.Atoi(f[i])
		require.NoError(s.t, err, at)
		return n
	}
	switch word {
	case "small":
		require.NoError(s.t, small(f[0], f[1], f[2], f[3], number(4)), at)
	case "tree":
		for p := number(1); p <= number(2); p++ {
			for i := range number(5) {
				code, year := fmt.Sprintf("P%02d", p), number(4)+i
				path := filepath.Join(f[0], code, f[3]+strconv.Itoa(year)+".dcm")
				picture := 10000*number(4) + 100*p + 10*i + len(f[3])
				if f[3] == "L" {
					picture += 5
				}
				require.NoError(s.t, small(path, code, f[3], fmt.Sprintf("%d-06-01", year), picture), at)
			}
		}
	case "hide":
		require.NoError(s.t, os.Rename(f[0], f[0]+".gone"), at)
	case "unhide":
		require.NoError(s.t, os.Rename(f[0]+".gone", f[0]), at)
	default:
		return false
	}
	return true
}

// small writes a film on which there is nothing to measure. A patient, side or date that is
// - is not stated.
func small(path, patient, side, date string, picture int) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	img := image.NewGray16(image.Rect(0, 0, 32, 24))
	for i := range 32 * 24 {
		img.SetGray16(i%32, i/32, color.Gray16{Y: uint16(i)})
	}
	img.SetGray16(0, 0, color.Gray16{Y: uint16(picture)})
	img.SetGray16(1, 0, color.Gray16{Y: uint16(picture >> 16)})
	f := &dicomio.Film{Pixels: img, Bits: 16, Photometric: "MONOCHROME2", Modality: "DX", View: "AP",
		Geometry: dicomio.Geometry{Imager: [2]float64{0.2, 0.2}}}
	for _, c := range []struct {
		text string
		at   *string
	}{{patient, &f.PatientCode}, {side, &f.Laterality}} {
		if c.text != "-" {
			*c.at = c.text
		}
	}
	if date != "-" {
		var err error
		if f.Date, err = time.Parse(time.DateOnly, date); err != nil {
			return err
		}
	}
	return dicomio.WriteFile(path, f)
}
