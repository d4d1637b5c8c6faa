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
	// true dicomio: testdata/README.md: unsupported: neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP
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

func ExampleWrite() {
	var b bytes.Buffer
	if err := dicomio.Write(&b, film()); err != nil {
		log.Fatal(err)
	}
	fmt.Println(string(b.Bytes()[128:132]), b.Len() > 2*40*30)
	// Output: DICM true
}

func ExampleExpand() {
	paths, err := dicomio.Expand([]string{"testdata/dcmtk-big.dcm", "testdata/none"})
	fmt.Println(paths, errors.Is(err, os.ErrNotExist))
	// Output: [] true
}

func ExampleInspectAll() {
	paths := []string{"testdata/dcmtk-big.dcm", "testdata/dcmtk-jpegls.dcm"}
	films, _ := dicomio.InspectAll(context.Background(), paths, func(done int) { fmt.Println(done, "of", len(paths)) })
	for _, f := range films {
		fmt.Println(f.Path, dicomio.SyntaxName(f.TransferSyntax))
	}
	// Output:
	// 1 of 2
	// 2 of 2
	// testdata/dcmtk-big.dcm explicit big endian
	// testdata/dcmtk-jpegls.dcm JPEG-LS lossless
}

func ExampleOpenFrame() {
	_, err := dicomio.OpenFrame("testdata/dcmtk-explicit.dcm", 2)
	fmt.Println(err)
	// Output: dicomio: testdata/dcmtk-explicit.dcm: no frame 2 of 1
}

func ExampleFilm_Display() {
	f := film()
	f.Greys.Windows = []dicomio.Window{{Center: 2048, Width: 1000, Function: "LINEAR"}}
	shown := f.Display(nil)
	fmt.Println(shown.GrayAt(20, 10), shown.GrayAt(0, 0))
	// Output: {255} {0}
}

func ExampleFilm_Upright() {
	f := film()
	f.Orientation = [2]string{"R", "F"} // seen from behind: rows run to the patient's right
	up := f.Upright()
	fmt.Println(up.Orientation, up.Pixels.Gray16At(19, 10))
	// Output: [L F] {4095}
}

func ExampleDuplicates() {
	a, err := dicomio.Open("testdata/dcmtk-explicit.dcm")
	if err != nil {
		log.Fatal(err)
	}
	b, err := dicomio.Open("testdata/gdcm-jpeg2000.dcm")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(dicomio.Duplicates([]*dicomio.Film{a, film(), b}))
	// Output: [0 1 0]
}

func ExampleDeidentifier_File() {
	dir, err := os.MkdirTemp("", "film")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	d, err := dicomio.NewDeidentifier([]byte("keep this key from all but those who may know"))
	if err != nil {
		log.Fatal(err)
	}
	d.Black = []image.Rectangle{image.Rect(0, 0, 8, 4)} // text burned into the corner
	out := filepath.Join(dir, "out.dcm")
	done, err := d.File("testdata/dcmtk-lossless.dcm", out)
	if err != nil {
		log.Fatal(err)
	}
	f, err := dicomio.Open(out)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(f.PatientCode == done.Code, f.PatientCode == "LW-0007", f.Geometry.Imager, f.Pixels.Gray16At(0, 0))
	// Output: true false [0.15 0.15] {0}
}

func ExampleFilm_UprightBy() {
	f := dicomio.Film{Orientation: [2]string{"R", "F"}} // rows run to the patient's right
	fmt.Println(f.UprightBy())
	// Output: upright.mirrored
}

func ExampleFilm_Square() {
	f, err := dicomio.Open("testdata/dcmtk-explicit.dcm")
	if err != nil {
		panic(err)
	}
	f.Geometry = dicomio.Geometry{Imager: [2]float64{0.15, 0.1875}}
	fmt.Println(f.Columns, "x", f.Rows)
	fmt.Println(f.SquareBy())
	square, err := f.Square()
	if err != nil {
		panic(err)
	}
	fmt.Println(square.Columns, "x", square.Rows, square.Geometry.Imager)
	// Output:
	// 30 x 40
	// 1.25 columns
	// 38 x 40 [0.15 0.15]
}

// Where a point of the upright film lies in a file that holds it mirrored.
func ExampleFilm_Place() {
	f := &dicomio.Film{Pixels: image.NewGray16(image.Rect(0, 0, 300, 200)), Orientation: [2]string{"R", "F"}}
	fmt.Println(f.Place().Point(20, 50))
	// Output: 280 50
}
