package study

import "time"

// Facts is what a film's file says of itself, before anything is measured.
// Zero values mean that the file does not say.
type Facts struct {
	Film           string // path
	SHA256         string
	Fault          string // why the file could not be read; the rest is then zero
	Format         string // "DICOM", "PNG", ...
	TransferSyntax string // UID
	Modality       string
	Photometric    string
	Width, Height  int // pixels
	Bits           int // bits stored
	Patient        string
	Date           time.Time
	DateSource     string // which date of the file Date is
	Laterality     string // "R" or "L"
	View           string

	Spacings      []Spacing // every statement of scale, the one in use first
	SourceImage   float64   // source to detector, mm
	SourcePatient float64   // source to patient, mm
	Magnification float64   // as the file estimates it

	Warnings []string // what the file says but could not be used
}

// Spacing is one statement of scale: mm between rows and between columns.
type Spacing struct {
	Kind        string // "imager", "pixel", "pixel, GEOMETRY", "scan", ...
	Row, Column float64
}
