package dicomio_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"log"
	"os"
	"path/filepath"
	"time"

	"linerwatch/dicomio"
)

// film is a small invented film.
func film() *dicomio.Film {
	img := image.NewGray16(image.Rect(0, 0, 40, 30))
	img.SetGray16(20, 10, color.Gray16{Y: 4095})
	return &dicomio.Film{
		Pixels: img, Bits: 12, Photometric: "MONOCHROME2", PatientCode: "LW-0007", Laterality: "R", View: "AP",
		Date:     time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC),
		Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.15}, SourceImage: 1150},
	}
}

func ExampleOpen() {
	dir, err := os.MkdirTemp("", "film")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "a.dcm")
	if err := dicomio.WriteFile(path, film()); err != nil {
		log.Fatal(err)
	}

	f, err := dicomio.Open(path)
	if err != nil {
		log.Fatal(err)
	}
	mm, kind := f.Geometry.Spacing()
	fmt.Println(f.PatientCode, f.Date.Format(time.DateOnly), f.Laterality, dicomio.SyntaxName(f.TransferSyntax))
	fmt.Println(f.Columns, "x", f.Rows, "pixels of", f.Bits, "bits,", mm, "mm from", kind)
	// Output:
	// LW-0007 2012-03-04 R explicit little endian
	// 40 x 30 pixels of 12 bits, 0.15 mm from imager
}

func ExampleOpenAll() {
	paths := []string{"testdata/dcmtk-explicit.dcm", "testdata/README.md", "testdata/dcmtk-rle.dcm"}
	films, errs := dicomio.OpenAll(context.Background(), paths, nil)
	for i := range films {
		if errs[i] != nil {
			fmt.Println(errors.Is(errs[i], dicomio.ErrUnsupported), errs[i])
			continue
		}
		fmt.Println(films[i].Path, films[i].Bits, "bits")
	}
	// Output:
	// testdata/dcmtk-explicit.dcm 12 bits
	// true dicomio: testdata/README.md: unsupported: neither DICOM, PNG, TIFF nor JPEG
	// testdata/dcmtk-rle.dcm 12 bits
}

func ExampleInspect() {
	f, err := dicomio.Inspect("testdata/dcmtk-implicit.dcm")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(f.Columns, "x", f.Rows, f.Photometric, f.Geometry.Imager)
	// Output: 30 x 40 MONOCHROME2 [0.15 0.15]
}

func ExampleFilm_WriteStoredPNG() {
	var b bytes.Buffer
	if err := film().WriteStoredPNG(&b); err != nil {
		log.Fatal(err)
	}
	img, format, err := image.Decode(&b)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(format, img.At(20, 10))
	// Output: png {4095}
}
