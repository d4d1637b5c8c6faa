package session

import (
	"context"
	"io"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// Facts returns what the file at path says of itself. A file that cannot be
// read is told by Fault.
func Facts(path string) study.Facts {
	f, err := dicomio.Open(path)
	if err != nil {
		return study.Facts{Film: path, Fault: fault(path, err)}
	}
	facts := study.Facts{
		Film: path, SHA256: f.SHA256, Format: f.Format, TransferSyntax: f.TransferSyntax,
		Modality: f.Modality, Photometric: f.Photometric,
		Width: f.Pixels.Rect.Dx(), Height: f.Pixels.Rect.Dy(), Bits: f.Bits,
		Patient: f.PatientCode, Date: f.Date, DateSource: f.DateSource,
		Laterality: f.Laterality, View: f.View,
		SourceImage: f.Geometry.SourceImage, SourcePatient: f.Geometry.SourcePatient,
		Magnification: f.Geometry.Magnification, Warnings: f.Warnings,
	}
	facts.Spacings = spacings(f.Geometry)
	return facts
}

// spacings lists every statement of scale, the one that Spacing uses first.
func spacings(g dicomio.Geometry) []study.Spacing {
	pixel := "pixel"
	if g.PixelKind != "" {
		pixel += ", " + g.PixelKind
	}
	_, used := g.Spacing()
	var out []study.Spacing
	for _, s := range []struct {
		name, kind string
		pair       [2]float64
	}{{"imager", "imager", g.Imager}, {pixel, "pixel", g.Pixel}, {"scan", "scan", g.Scan}} {
		if s.pair == ([2]float64{}) {
			continue
		}
		one := study.Spacing{Kind: s.name, Row: s.pair[0], Column: s.pair[1]}
		if s.kind == used {
			out = append([]study.Spacing{one}, out...)
		} else {
			out = append(out, one)
		}
	}
	return out
}

// StoredPNG writes the stored values of the film at path as a 16-bit grey PNG.
func StoredPNG(path string, w io.Writer) error {
	f, err := dicomio.Open(path)
	if err != nil {
		return err
	}
	return f.WriteStoredPNG(w)
}

// AllFacts returns the facts of every film in paths, in order; folders stand
// for the films in them. The only error is that of ctx.
func AllFacts(ctx context.Context, paths []string, progress func(done, total int)) ([]study.Facts, error) {
	jobs := expand(paths)
	facts := make([]study.Facts, len(jobs))
	err := parallel(ctx, len(jobs), progress, func(i int) {
		facts[i] = study.Facts{Film: jobs[i].path, Fault: jobs[i].fault}
		if jobs[i].fault == "" {
			facts[i] = Facts(jobs[i].path)
		}
	})
	return facts, err
}
