package result

import "linerwatch/dicomio"

// Code is a coded concept: its value, the scheme that it is of, and what it means.
type Code struct{ Value, Scheme, Meaning string }

// is reports whether two codes stand for one concept, whatever words they have.
func (c Code) is(d Code) bool { return c.Value == d.Value && c.Scheme == d.Scheme }

// item is a code as an item of a sequence (PS3.3 8.8).
func (c Code) item() dicomio.Item {
	i := dicomio.Item{}
	i.SetText(0x00080100, "SH", c.Value)
	i.SetText(0x00080102, "SH", c.Scheme)
	i.SetText(0x00080104, "LO", c.Meaning)
	return i
}

// codeIn returns the code of the first item of a sequence.
func codeIn(i dicomio.Item, tag uint32) Code {
	c := i.Item(tag)
	return Code{c.Text(0x00080100), c.Text(0x00080102), c.Text(0x00080104)}
}

// own is the scheme of concepts without a public code.
const own = "99LINERWATCH"

// What an outline or a group of numbers is about: CID 7308, 6102.
var (
	Head       = Code{"112308", "DCM", "Femoral Head Ball Component"}
	Shell      = Code{"112305", "DCM", "Acetabular Cup Shell"}
	Monoblock  = Code{"112307", "DCM", "Acetabular Cup Monoblock"}
	Prosthesis = Code{"53350007", "SCT", "Prosthesis"}
)

// What is measured.
var (
	Diameter       = Code{"81827009", "SCT", "Diameter"}
	Scale          = Code{"LW-010", own, "Scale at the level of the hip"}
	Superior       = Code{"LW-011", own, "Superior offset of head centre from cup centre"}
	Medial         = Code{"LW-012", own, "Medial offset of head centre from cup centre"}
	Eccentricity   = Code{"LW-013", own, "Eccentricity index of head in cup"}
	Thinnest       = Code{"LW-014", own, "Narrowest path from head to cup outline"}
	Widest         = Code{"LW-015", own, "Widest path from head to cup outline"}
	MovedSuperior  = Code{"LW-020", own, "Superior head penetration since the baseline film"}
	MovedMedial    = Code{"LW-021", own, "Medial head penetration since the baseline film"}
	InclinedToLine = Code{"LW-030", own, "Radiographic inclination to the reference line"}
	InclinedToRows = Code{"LW-031", own, "Radiographic inclination to the image rows"}
	Anteversion    = Code{"LW-032", own, "Radiographic anteversion, sign not told"}
)

// How it is measured.
var (
	Known          = Code{"LW-100", own, "Stated by the operation note, not measured"}
	ByHead         = Code{"LW-101", own, "Known diameter of the head over that of its outline"}
	PlainByRows    = Code{"LW-110", own, "No beam correction, superior across the image rows"}
	PlainByLine    = Code{"LW-111", own, "No beam correction, superior across the reference line"}
	BeamByRows     = Code{"LW-112", own, "Cone beam corrected, superior across the image rows"}
	BeamByLine     = Code{"LW-113", own, "Cone beam corrected, superior across the reference line"}
	RimOfShell     = Code{"LW-120", own, "Ellipse of the shell's rim as found on the film"}
	RingOfWire     = Code{"LW-121", own, "Ellipse of the wire marker ring"}
	LineOfRim      = Code{"LW-122", own, "Rim line drawn by the reader"}
	sinceBaseline  = Code{"LW-002", own, "Date of the baseline film"}
	standardError  = Code{"LW-003", own, "Standard error"}
	hipCode        = Code{"LW-004", own, "Code of the hip in its study"}
	readingCode    = Code{"LW-005", own, "Code of the reading in its study"}
	ownScheme      = "Concepts of Linerwatch without a public code"
	ownResponsible = "Linerwatch"
)

// Units, of UCUM.
var (
	Millimetres = Code{"mm", "UCUM", "mm"}
	PerPixel    = Code{"mm/{pixels}", "UCUM", "mm per pixel"}
	Degrees     = Code{"deg", "UCUM", "deg"}
	NoUnit      = Code{"1", "UCUM", "no units"}
)

// Concepts of the templates.
var (
	rejected        = Code{"113001", "DCM", "Rejected for Quality Reasons"} // CID 7010
	selectionText   = Code{"113012", "DCM", "Key Object Description"}
	reportTitle     = Code{"126000", "DCM", "Imaging Measurement Report"}
	language        = Code{"121049", "DCM", "Language of Content Item and Descendants"}
	english         = Code{"en", "RFC5646", "English"}
	observerType    = Code{"121005", "DCM", "Observer Type"}
	person          = Code{"121006", "DCM", "Person"}
	device          = Code{"121007", "DCM", "Device"}
	personName      = Code{"121008", "DCM", "Person Observer Name"}
	deviceUID       = Code{"121012", "DCM", "Device Observer UID"}
	deviceName      = Code{"121013", "DCM", "Device Observer Name"}
	procedure       = Code{"121058", "DCM", "Procedure reported"}
	imaging         = Code{"363679005", "SCT", "Imaging procedure"}
	library         = Code{"111028", "DCM", "Image Library"}
	libraryGroup    = Code{"126200", "DCM", "Image Library Group"}
	measurements    = Code{"126010", "DCM", "Imaging Measurements"}
	group           = Code{"125007", "DCM", "Measurement Group"}
	trackName       = Code{"112039", "DCM", "Tracking Identifier"}
	trackUID        = Code{"112040", "DCM", "Tracking Unique Identifier"}
	finding         = Code{"121071", "DCM", "Finding"}
	algorithm       = Code{"111001", "DCM", "Algorithm Name"}
	algorithmAs     = Code{"111003", "DCM", "Algorithm Version"}
	site            = Code{"363698007", "SCT", "Finding Site"}
	hipJoint        = Code{"24136001", "SCT", "Hip joint"}
	laterality      = Code{"272741003", "SCT", "Laterality"}
	rightSide       = Code{"24028007", "SCT", "Right"}
	leftSide        = Code{"7771000", "SCT", "Left"}
	region          = Code{"111030", "DCM", "Image Region"}
	method          = Code{"370129005", "SCT", "Measurement Method"}
	plusMinus       = Code{"371884006", "SCT", "+/-, range of measurement uncertainty"}
	derivation      = Code{"121401", "DCM", "Derivation"}
	processedSource = Code{"121322", "DCM", "Source image for image processing operation"}
)
