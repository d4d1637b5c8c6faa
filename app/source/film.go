package source

import (
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// FilmOf returns what a study keeps of an opened film. Its ID is the hash of
// its content, its side the one the file names.
func FilmOf(f *dicomio.Film) study.Film {
	side, err := study.ParseSide(f.Laterality)
	if err != nil {
		side = study.SideUnknown
	}
	film := study.Film{
		ID: f.SHA256, Path: f.Path, SHA256: f.SHA256, Patient: f.PatientCode, Date: f.Date, Side: side,
		SpacingMM: f.Geometry.Detector(), View: study.ViewOf(f.View), SourceMM: f.Geometry.SourceImage,
	}
	if f.Field.Stated() {
		x, y := f.Field.Center()
		film.Given.Field = &study.Pixel{X: x, Y: y}
	}
	if film.View == study.Lateral {
		film.Given.Axes = study.AxesOf(f.Orientation)
	}
	if film.SpacingMM > 0 {
		_, film.SpacingKind = f.Geometry.Spacing()
	}
	if f.Pixels != nil {
		film.Width, film.Height = f.Pixels.Rect.Dx(), f.Pixels.Rect.Dy()
	}
	return film
}
