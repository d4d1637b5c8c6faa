package dicomio

import (
	"slices"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// noFilms are modalities whose frames are no films of their own: slices and moving pictures (PS3.3 C.7.3.1.1.1).
var noFilms = []string{"CT", "MR", "NM", "PT", "US", "IVUS", "OCT", "ES", "XA", "RF"}

// Films returns how many of the file's frames are films of their own: all of them, or 1 where
// they follow each other in time or are slices.
func (f *Film) Films() int {
	if f.moving {
		return 1
	}
	return f.Frames
}

// moving reports whether frames follow each other in time, or are of a kind that is no film.
func (h *header) moving() bool {
	for _, t := range []tag.Tag{tag.FrameTime, tag.CineRate, tag.RecommendedDisplayFrameRate} {
		if s := h.str(t); s != "" && s != "0" {
			return true
		}
	}
	return slices.Contains(noFilms, h.str(tag.Modality))
}
