package source

import (
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// FilmOf returns what a study keeps of an opened film. Its ID is the hash of
// its content.
func FilmOf(f *dicomio.Film) study.Film {
	return study.Film{ID: f.SHA256, Path: f.Path, Facts: FactsOf(f)}
}

// FactsOf returns what the file of an opened film says, its side the one that the file
// names. The key of its pixels is that of the picture as the file holds it.
func FactsOf(f *dicomio.Film) study.Facts {
	side, err := study.ParseSide(f.Laterality)
	if err != nil {
		side = study.SideUnknown
	}
	facts := study.Facts{
		SHA256: f.SHA256, Patient: f.PatientCode, Date: f.Date, Side: side,
		View: viewOf(f), SourceMM: f.Geometry.SourceImage,
	}
	facts.SpacingMM, facts.SpacingKind = SpacingOf(f)
	if f.Field.Stated() {
		x, y := f.Field.Center()
		facts.Field = &study.Pixel{X: x, Y: y}
	}
	if facts.View == study.Lateral {
		facts.Axes = study.AxesOf(f.Orientation)
	}
	if f.Pixels != nil {
		facts.Width, facts.Height = f.Pixels.Rect.Dx(), f.Pixels.Rect.Dy()
		facts.PixelKey = keyOf(f)
	}
	return facts
}

// SpacingOf returns mm per pixel at the detector and the kind of the statement, 0 and ""
// where it is not known.
func SpacingOf(f *dicomio.Film) (mm float64, kind string) {
	if mm = f.Geometry.Detector(); mm > 0 {
		_, kind = f.Geometry.Spacing()
	}
	return mm, kind
}

// viewOf returns the view of a film by all that its file says, empty where it is none that is
// read or nothing says it.
func viewOf(f *dicomio.Film) study.View {
	switch way, _ := f.Projection(); way {
	case dicomio.Frontal:
		return study.AP
	case dicomio.Sideways:
		return study.Lateral
	}
	return ""
}

// KeptOut returns why a film is not taken for one of a hip without a reader's word, nothing
// where it is: its file names another view or another part of the body, or contradicts itself.
func KeptOut(f *dicomio.Film) study.Note {
	if _, why := f.Projection(); why != nil {
		return study.NoteOf(why)
	}
	return study.Note{}
}
