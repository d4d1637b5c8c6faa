package batch

import (
	"context"
	"errors"
	"image"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// A picture without the tags of a film may state what is not true of it: a resolution that
// is its program's, and black for white. What is found without the one, or the other way
// round, is convincing by itself: a ball of the head's size with a cup around it.

// LookFor looks for hips on img, a picture of f, as Search does and, where nothing stands out,
// without the resolution of a scan and with the greys of an untagged picture exchanged. as
// is the film as which it was found, f itself where it was found at once or not at all.
func LookFor(ctx context.Context, f *dicomio.Film, img *image.Gray16, opt find.Options,
	look func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error)) (hips []measure.Hip, as *dicomio.Film, err error) {
	hips, err = Search(ctx, f, img, opt, look)
	var no *measure.Refusal
	if f == nil || !errors.As(err, &no) || !study.NothingFound(no.Reason) {
		return hips, f, err
	}
	_, kind := f.Geometry.Spacing()
	scan := kind == "scan" && opt.Spacing > 0
	var others []*dicomio.Film
	if scan {
		others = append(others, f.Unscanned())
	}
	if f.Format != "DICOM" && !f.BoneDark() {
		others = append(others, f.Negative())
		if scan {
			others = append(others, f.Unscanned().Negative())
		}
	}
	for _, g := range others {
		o := opt
		if scan {
			o.Spacing = g.Geometry.Detector()
		}
		if other, fault := Search(ctx, g, img, o, look); fault == nil {
			return other, g, nil
		}
	}
	if scan && ctx.Err() == nil {
		r := *no
		r.Reason = unscanned(f, no.Reason)
		err = &r
	}
	return nil, f, err
}

// unscanned says of a refusal that it was with the resolution and without.
func unscanned(f *dicomio.Film, why study.Note) study.Note {
	values := study.Values{"Why": why}
	for key, v := range f.ScanNote() {
		values[key] = v
	}
	return study.Note{Code: "refusal.resolution", Values: values}
}
