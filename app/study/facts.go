package study

import "time"

// FileFacts is everything that a film's file says of itself, before anything is
// measured, for whoever looks at files. Zero values mean that the file does not say.
type FileFacts struct {
	Film        string // path
	SHA256      string
	PixelKey    string // names the picture by its content
	DuplicateOf string // path of an earlier film with the same picture
	Fault       Note   // why the file could not be read; the rest is then zero

	Format         string // "DICOM", "PNG", ...
	TransferSyntax string // UID
	SyntaxName     string // in words
	CharacterSets  []string
	Modality       string
	Lossy          bool // compressed with loss, now or once

	Photometric   string
	Width, Height int // pixels
	Frames, Frame int // in the file, and the one looked at, from 1
	Bits          int // bits stored
	Allocated     int // bits that a pixel takes
	HighBit       int // where Allocated is known
	Signed        bool

	Patient    string
	Date       time.Time
	DateSource string  // which date of the file Date is
	Dates      []Dated // every date, Date first
	Laterality string  // "R" or "L"
	View       string
	Views      []Stated // every other statement of the view or the part of the body
	KeptOut    Note     // why it is not taken for a film of a hip without a reader's word

	Orientation [2]string // where rows and columns run to
	Upright     Note      // how the film is brought upright
	Square      Note      // how its pixels are made square; AsItIs where they are
	BurnedIn    string    // "YES" or "NO": text in the picture

	Spacings       []Spacing  // every statement of scale, the one in use first
	SpacingReason  Note       // why that one, or why none
	CheckedAgainst string     // the statement that the magnification is checked against
	AspectRatio    [2]float64 // Pixel Aspect Ratio, vertical to horizontal
	Field          [4]float64 // what the collimator left open: left, right, upper and lower edge, px of the stored picture; zero where not stated
	SourceImage    float64    // source to detector, mm
	SourcePatient  float64    // source to patient, mm
	Magnification  float64    // as the file estimates it

	Greys    Greys
	Warnings []Note // what the file says but could not be used
}

// AsItIs is the code of Square where the pixels are square.
const AsItIs = "square.as-it-is"

// Spacing is one statement of scale: mm between rows and between columns.
type Spacing struct {
	Kind        string // "imager", "pixel", "pixel, GEOMETRY", "scan", ...
	Name        string // of the attribute that says it
	Row, Column float64
	Used        bool
}

// Stated is what a file says by an attribute.
type Stated struct{ By, Said string }

// Dated is one date of a file.
type Dated struct {
	Source string // "acquisition", "study", "content"
	Date   time.Time
}

// Greys is how the file wants its stored values shown.
type Greys struct {
	Slope, Intercept float64 // Slope 0: no rescaling stated
	ModalityEntries  int     // of a table in their place
	Windows          []Window
	Tables           []Table // of values of interest
	Shape            string  // Presentation LUT Shape
	Padding          *[2]int // lowest and highest stored value that is no picture
}

// Window is a band of values shown.
type Window struct {
	Center, Width  float64
	Function, Name string
}

// Table is a look-up table of values of interest.
type Table struct {
	First, Entries, Bits int
	Name                 string
}
