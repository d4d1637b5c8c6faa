package batch_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// exampleFilm writes a film of 40 x 30 pixels, 1.25 times as wide as high, into a
// folder of its own.
func exampleFilm() (path string, remove func()) {
	dir, err := os.MkdirTemp("", "films")
	if err != nil {
		panic(err)
	}
	path = filepath.Join(dir, "a.dcm")
	err = dicomio.WriteFile(path, &dicomio.Film{
		Pixels: image.NewGray16(image.Rect(0, 0, 40, 30)), Bits: 12, Photometric: "MONOCHROME2",
		PatientCode: "Q7-031", BurnedIn: "YES", Date: time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC),
		Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.1875}},
	})
	if err != nil {
		panic(err)
	}
	return path, func() {
		if err := os.RemoveAll(dir); err != nil {
			panic(err)
		}
	}
}

func ExampleAllFacts() {
	path, remove := exampleFilm()
	defer remove()
	facts, err := batch.AllFacts(context.Background(), []string{path, filepath.Dir(path)}, 1, time.Now(), nil)
	if err != nil {
		panic(err)
	}
	fmt.Println(len(facts), facts[1].DuplicateOf == path)
	// Output: 2 true
}

func ExampleDisplayPNG() {
	path, remove := exampleFilm()
	defer remove()
	var b bytes.Buffer
	if err := batch.DisplayPNG(path, 1, &b); err != nil {
		panic(err)
	}
	picture, err := png.Decode(&b)
	if err != nil {
		panic(err)
	}
	fmt.Println(picture.Bounds().Max)
	// Output: (50,30)
}

func ExampleStoredPNG() {
	path, remove := exampleFilm()
	defer remove()
	var b bytes.Buffer
	if err := batch.StoredPNG(path, 1, &b); err != nil {
		panic(err)
	}
	picture, err := png.Decode(&b)
	if err != nil {
		panic(err)
	}
	fmt.Println(picture.Bounds().Max)
	// Output: (40,30)
}

func ExampleDeidentify() {
	path, remove := exampleFilm()
	defer remove()
	films := []string{path}
	out := filepath.Join(filepath.Dir(path), "copies")
	key, made, err := batch.DeidentifyKey(filepath.Join(filepath.Dir(path), "key"))
	if err != nil {
		panic(err)
	}
	opt := batch.DeidentifyOptions{
		Key: key, Out: out,
		BlackIn: []batch.BlackPart{{Film: path, Part: image.Rect(0, 0, 20, 5)}},
	}
	if err := batch.CheckDeidentifyOut(out, films); err != nil {
		panic(err)
	}
	if err := batch.CheckBlack(films, opt.BlackIn); err != nil {
		panic(err)
	}
	if err := os.Mkdir(out, 0o755); err != nil {
		panic(err)
	}
	done, err := batch.Deidentify(context.Background(), films, opt, nil)
	if err != nil {
		panic(err)
	}
	fmt.Println(made, batch.Inside(out, done[0].Written), len(done[0].Patient))
	fmt.Println(study.NoteWords(done[0].Warnings[0]))
	// Output:
	// true true 11
	// parts were made black: look whether text is left, and state it if there is none
}
