package batch

import (
	"context"
	"encoding/binary"
	"errors"
	"image"
	"math"

	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// The search wants bone bright. A film's pixels are as dark and bright as its file
// wants them shown, which is how a reader sees them, and there bone is bright unless
// the file itself says otherwise (dicomio.Film.BoneDark). Such a file either names
// the wrong end or wants bone dark; its tags do not tell which, so the film does:
// it is searched as shown and, if nothing is found, with dark and bright exchanged;
// an outline is fitted in the sense in which the implant stands out bright.

// Search looks for hips on img, a picture of f, with look.
func Search(ctx context.Context, f *dicomio.Film, img *image.Gray16, opt find.Options,
	look func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error)) ([]measure.Hip, error) {
	hips, err := look(ctx, img, opt)
	var no *measure.Refusal
	if f == nil || !f.BoneDark() || !errors.As(err, &no) {
		return hips, err
	}
	if other, fault := look(ctx, f.Exchanged(img), opt); fault == nil {
		return other, nil
	}
	return hips, err
}

// BoneBright returns img, a picture of f, or where f says that bone is dark the one
// of img and its exchange in which what lies inside the head's outline is brighter
// than what lies around the cup's: a ball of metal or ceramic lets less through than
// bone.
func BoneBright(f *dicomio.Film, img *image.Gray16, head, cup measure.Circle) *image.Gray16 {
	if f == nil || img == nil || !f.BoneDark() {
		return img
	}
	inside, ok := meanBetween(img, head, 0, 0.9)
	around, too := meanBetween(img, cup, 1.1, 1.4)
	if ok && too && inside < around {
		return f.Exchanged(img)
	}
	return img
}

// meanBetween returns the mean grey value between two shares of a circle's radius.
func meanBetween(img *image.Gray16, c measure.Circle, from, to float64) (mean float64, ok bool) {
	b := img.Bounds().Size()
	sum, n := 0.0, 0
	for y := int(max(0, c.Y-to*c.R)); y < b.Y && float64(y) < c.Y+to*c.R; y++ {
		row := img.Pix[y*img.Stride:]
		for x := int(max(0, c.X-to*c.R)); x < b.X && float64(x) < c.X+to*c.R; x++ {
			if d := math.Hypot(float64(x)+0.5-c.X, float64(y)+0.5-c.Y); d >= from*c.R && d <= to*c.R {
				sum += float64(binary.BigEndian.Uint16(row[2*x:]))
				n++
			}
		}
	}
	return sum / float64(max(n, 1)), n > 0
}
