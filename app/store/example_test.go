package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

func ExampleOpen() {
	dir, err := os.MkdirTemp("", "study")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = os.RemoveAll(dir) }()
	db, err := store.Open(filepath.Join(dir, "hips.study"))
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx := context.Background()
	if err := db.SaveHip(ctx, study.Hip{ID: "H-12", Implant: study.Implant{HeadMM: 28}}); err != nil {
		fmt.Println(err)
	}
	hips, err := db.Hips(ctx)
	if err != nil {
		fmt.Println(err)
	}
	for _, h := range hips {
		fmt.Println(h.ID, h.Implant.HeadMM, "mm")
	}
	if err := db.Close(); err != nil {
		fmt.Println(err)
	}
	// Output:
	// H-12 28 mm
}
