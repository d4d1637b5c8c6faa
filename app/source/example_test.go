package source_test

import (
	"fmt"
	"image"
	"os"
	"path/filepath"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

func Example() {
	dir, err := os.MkdirTemp("", "films")
	if err != nil {
		panic(err)
	}
	defer func() {
		if err := os.RemoveAll(dir); err != nil {
			panic(err)
		}
	}()
	err = dicomio.WriteFile(filepath.Join(dir, "a.dcm"), &dicomio.Film{
		Pixels: image.NewGray16(image.Rect(0, 0, 40, 30)), Bits: 12, Photometric: "MONOCHROME2",
		PatientCode: "Q7-031", Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.1875}},
	})
	if err != nil {
		panic(err)
	}
	for _, file := range source.Expand([]string{dir, "nowhere.dcm"}) {
		if !file.Fault.IsZero() {
			fmt.Println(file.Path, study.NoteWords(file.Fault))
			continue
		}
		facts := source.Facts(file.Path, 1, time.Now())
		fmt.Println(facts.Width, "x", facts.Height, study.NoteWords(facts.Square), facts.Patient)
		film, err := source.Open(file.Path, time.Now())
		if err != nil {
			panic(err)
		}
		kept := source.FilmOf(film)
		fmt.Println(kept.Facts.Width, "x", kept.Facts.Height, kept.Facts.Patient)
	}
	fmt.Println(study.NoteWords(source.Facts("nowhere.dcm", 1, time.Now()).Fault))
	// Output:
	// 40 x 30 resampled to 1.25 times the columns Q7-031
	// 50 x 30 Q7-031
	// nowhere.dcm no such file or directory
	// no such file or directory
}
