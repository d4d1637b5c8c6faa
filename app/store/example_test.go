package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

func ExampleCreate() {
	dir, err := os.MkdirTemp("", "study")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = os.RemoveAll(dir) }()
	db, err := store.Create(filepath.Join(dir, "hips.study"))
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx := context.Background()
	by := study.Stamp{Reader: "R1", At: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	h, err := db.SaveHip(ctx, study.Hip{Patient: "P-017", Side: study.Right, Implant: study.Implant{HeadMM: 28}}, by)
	fmt.Println(h.ID, h.Label(), h.Revision, err)

	theirs := h
	theirs.Implant.LinerMM = 8.5
	_, err = db.SaveHip(ctx, theirs, by)
	fmt.Println(err)
	h.Group = "A"
	_, err = db.SaveHip(ctx, h, by)
	var conflict *study.ConflictError
	fmt.Println(errors.As(err, &conflict), err)
	fmt.Println(db.Close())
	// Output:
	// H1 P-017 right 1 <nil>
	// <nil>
	// true study: hip P-017 right was changed elsewhere since it was opened
	// <nil>
}
