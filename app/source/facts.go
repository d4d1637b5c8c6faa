package source

import (
	"time"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// Facts returns what the file of the film at path says of itself and of one of its frames,
// counted from 1, at now as for Frame. A file that cannot be read is told by Fault.
func Facts(path string, frame int, now time.Time) study.FileFacts {
	f, err := Frame(path, frame, now)
	if err != nil {
		return study.FileFacts{Film: path, Fault: Fault(path, err)}
	}
	facts := study.FileFacts{
		Film: path, SHA256: f.SHA256, PixelKey: keyOf(f), Format: f.Format,
		TransferSyntax: f.TransferSyntax, CharacterSets: f.CharacterSets, Modality: f.Modality, Lossy: f.Lossy,
		Photometric: f.Photometric, Width: f.Pixels.Rect.Dx(), Height: f.Pixels.Rect.Dy(),
		Frames: f.Frames, Frame: f.Frame, Bits: f.Bits, Allocated: f.Allocated, HighBit: f.HighBit, Signed: f.Signed,
		Patient: f.PatientCode, Date: f.Date, DateSource: f.DateSource,
		Laterality: f.Laterality, View: f.View,
		Orientation: f.Orientation, Upright: study.Note{Code: f.UprightBy()}, Square: squareBy(f), BurnedIn: f.BurnedIn,
		AspectRatio: f.Geometry.Ratio, SourceImage: f.Geometry.SourceImage, SourcePatient: f.Geometry.SourcePatient,
		Magnification: f.Geometry.Magnification, Greys: greys(f), Warnings: Notes(f.Warnings),
	}
	if f.TransferSyntax != "" {
		facts.SyntaxName = dicomio.SyntaxName(f.TransferSyntax)
	}
	facts.KeptOut = KeptOut(f)
	for _, v := range f.Views {
		facts.Views = append(facts.Views, study.Stated{By: v.By, Said: v.Said})
	}
	for _, p := range f.Parts {
		facts.Views = append(facts.Views, study.Stated{By: p.By, Said: p.Said})
	}
	for _, d := range f.Dates {
		facts.Dates = append(facts.Dates, study.Dated{Source: d.Source, Date: d.Date})
	}
	if d := f.Field; d.Stated() {
		facts.Field = [4]float64{d.Left, d.Right, d.Upper, d.Lower}
	}
	facts.Spacings = spacings(f)
	facts.SpacingReason = study.Note{Code: spacingReason(f.Geometry)}
	if f.Geometry.Detector() > 0 {
		facts.CheckedAgainst = checkedAgainst(f)
	}
	return facts
}

// keyOf is the key of a film's picture, which opening the file may have taken.
func keyOf(f *dicomio.Film) string {
	if f.Key != "" {
		return f.Key
	}
	return f.PixelKey()
}

// Notes returns what is said of a film.
func Notes(faults []*dicomio.Fault) []study.Note {
	var out []study.Note
	for _, f := range faults {
		out = append(out, study.NoteOf(f))
	}
	return out
}

// squareBy says how the film's pixels are made square, nothing where they cannot be.
func squareBy(f *dicomio.Film) study.Note {
	switch times, of := f.SquareBy(); times {
	case 0:
		return study.Note{}
	case 1:
		return study.Note{Code: study.AsItIs}
	default:
		return study.Note{Code: "square.resampled", Values: study.Values{"Times": times, "Of": of}}
	}
}

// The names of the attributes that state a scale.
const (
	imagerName  = "Imager Pixel Spacing (0018,1164)"
	pixelName   = "Pixel Spacing (0028,0030)"
	nominalName = "Nominal Scanned Pixel Spacing (0018,2010)"
)

// scanName is where the resolution of a scan stands in a file.
func scanName(f *dicomio.Film) string {
	if f.Format == "DICOM" {
		return nominalName
	}
	return "resolution of the " + f.Format
}

// spacings lists every statement of scale, the one that Spacing uses first.
func spacings(f *dicomio.Film) []study.Spacing {
	g := f.Geometry
	pixel := "pixel"
	if g.PixelKind != "" {
		pixel += ", " + g.PixelKind
	}
	_, used := g.Spacing()
	var out []study.Spacing
	for _, s := range []struct {
		kind, used, name string
		pair             [2]float64
	}{
		{"imager", "imager", imagerName, g.Imager},
		{pixel, "pixel", pixelName, g.Pixel},
		{"scan", "scan", scanName(f), g.Scan},
	} {
		if s.pair == ([2]float64{}) {
			continue
		}
		one := study.Spacing{Kind: s.kind, Name: s.name, Row: s.pair[0], Column: s.pair[1], Used: s.used == used}
		if one.Used {
			out = append([]study.Spacing{one}, out...)
		} else {
			out = append(out, one)
		}
	}
	return out
}

// spacingReason returns a code for why Spacing uses the statement that it does (PS3.3 10.7.1.3).
func spacingReason(g dicomio.Geometry) string {
	_, used := g.Spacing()
	imager, pixel := g.Imager[1] > 0, g.Pixel[1] > 0
	switch {
	case used == "":
		return "scale.none"
	case used == "scan":
		return "scale.scan"
	case used == "imager" && pixel:
		return "scale.repeated"
	case used == "imager":
		return "scale.imager"
	case g.PixelKind == "FIDUCIAL":
		return "scale.fiducial"
	case g.PixelKind == "GEOMETRY":
		return "scale.geometry"
	case imager:
		return "scale.differs"
	}
	return "scale.only"
}

// checkedAgainst names the statement that Geometry.Detector returns.
func checkedAgainst(f *dicomio.Film) string {
	switch _, kind := f.Geometry.Spacing(); {
	case kind == "scan":
		return scanName(f)
	case f.Geometry.Imager[1] > 0:
		return imagerName
	}
	return pixelName
}

// greys lists how the file wants its stored values shown.
func greys(f *dicomio.Film) study.Greys {
	g := study.Greys{Slope: f.Greys.Slope, Intercept: f.Greys.Intercept}
	if f.Format == "DICOM" {
		g.Shape = "IDENTITY"
	}
	if f.Greys.Inverse {
		g.Shape = "INVERSE"
	}
	if t := f.Greys.Modality; t != nil {
		g.ModalityEntries = len(t.Data)
	}
	for _, w := range f.Greys.Windows {
		g.Windows = append(g.Windows, study.Window{Center: w.Center, Width: w.Width, Function: w.Function, Name: w.Name})
	}
	for _, t := range f.Greys.Tables {
		g.Tables = append(g.Tables, study.Table{First: t.First, Entries: len(t.Data), Bits: t.Bits, Name: t.Name})
	}
	if p := f.Greys.Padding; p != nil {
		g.Padding = &[2]int{p.Low, p.High}
	}
	return g
}
