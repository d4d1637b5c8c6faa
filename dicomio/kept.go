package dicomio

// what is done with an element that is kept.
type action int

const (
	word     action = iota // values out of a list of terms
	amount                 // numbers within bounds
	mapUID                 // another UID
	moveDate               // another day
	codes                  // a sequence of known codes of public schemes
)

// rule is what may stay of an element. Whatever it holds besides goes: a type that
// allows letters or digits allows a name or a number of a person too.
type rule struct {
	vr        string
	do        action
	terms     string // of a word, with \ between them
	low, high float64
	most      int  // values
	trait     bool // a characteristic of the patient
}

func of(terms string) rule { return rule{vr: "CS", do: word, terms: terms, most: 1} }

// several are up to most values out of a list of terms.
func several(most int, terms string) rule { return rule{vr: "CS", do: word, terms: terms, most: most} }

// wholes and reals are up to most numbers from low to high.
func wholes(low, high float64, most int) rule { return rule{"IS", amount, "", low, high, most, false} }
func reals(low, high float64, most int) rule  { return rule{"DS", amount, "", low, high, most, false} }

// traits marks a rule as one of the patient's characteristics.
func traits(r rule) rule {
	r.trait = true
	return r
}

const (
	mostWindows = 32
	mostLossy   = 8         // times that a film was compressed with loss
	mostValue   = 1 << 20   // of a grey, in the units of its modality
	farEdge     = 2 * 65535 // of a collimator, in pixels from the film's edge
)

// kept are the elements that are not removed. What the picture needs besides is
// written from what was read of it (see keeper.replace). Terms are the defined terms
// and enumerated values of PS3.3 (body parts: PS3.16 annex L) for the attribute;
// bounds are those beyond which no film is.
var kept = map[uint32]rule{
	0x00080020: {vr: "DA", do: moveDate}, // Study Date
	0x00080021: {vr: "DA", do: moveDate}, // Series Date
	0x00080022: {vr: "DA", do: moveDate}, // Acquisition Date
	0x00080023: {vr: "DA", do: moveDate}, // Content Date
	0x0008002A: {vr: "DT", do: moveDate}, // Acquisition DateTime

	0x00080018: {vr: "UI", do: mapUID}, // SOP Instance UID
	0x0020000D: {vr: "UI", do: mapUID}, // Study Instance UID
	0x0020000E: {vr: "UI", do: mapUID}, // Series Instance UID

	0x00082218: {vr: "SQ", do: codes}, // Anatomic Region Sequence
	0x00540220: {vr: "SQ", do: codes}, // View Code Sequence

	0x00080008: several(9, `ORIGINAL\DERIVED\PRIMARY\SECONDARY`),                              // Image Type
	0x00080060: of(`CR\DX\RG\XA\RF\MG\IO\PX\CT\MR\US\NM\PT\ES\GM\XC\OT`),                      // Modality
	0x00080064: of(`DV\DI\DF\WSD\SD\SI\DRW\SYN`),                                              // Conversion Type
	0x00080068: of(`FOR PRESENTATION\FOR PROCESSING`),                                         // Presentation Intent Type
	0x00180015: of(bodyParts),                                                                 // Body Part Examined
	0x00181147: of(`RECTANGLE\ROUND\HEXAGONAL`),                                               // Field of View Shape
	0x00181166: several(4, `FIXED\FOCUSED\RECIPROCATING\PARALLEL\CROSSED\NONE`),               // Grid
	0x00181191: of(`TUNGSTEN\MOLYBDENUM\RHODIUM`),                                             // Anode Target Material
	0x00181508: of(`CARM\COLUMN\MAMMOGRAPHIC\PANORAMIC\CEPHALOSTAT\RIGID\NONE`),               // Positioner Type
	0x00181700: several(3, `RECTANGULAR\CIRCULAR\POLYGONAL`),                                  // Collimator Shape
	0x00185100: of(`HFP\HFS\HFDR\HFDL\FFDR\FFDL\FFP\FFS\LFP\LFS\RFP\RFS\AFDR\AFDL\PFDR\PFDL`), // Patient Position
	0x00185101: of(viewPositions),                                                             // View Position
	0x00187004: of(`DIRECT\SCINTILLATOR\STORAGE\FILM`),                                        // Detector Type
	0x00187034: of(`YES\NO`),                                                                  // Field of View Horizontal Flip
	0x00200020: several(2, orientations()),                                                    // Patient Orientation
	0x00200060: of(`R\L`),                                                                     // Laterality
	0x00200062: of(`R\L\U\B`),                                                                 // Image Laterality
	0x00280301: of(`YES\NO`),                                                                  // Burned In Annotation
	0x00280A02: of(`GEOMETRY\FIDUCIAL`),                                                       // Pixel Spacing Calibration Type
	0x00281040: of(`LIN\LOG\DISP\OTHER`),                                                      // Pixel Intensity Relationship
	0x00281056: of(`LINEAR\LINEAR_EXACT\SIGMOID`),                                             // VOI LUT Function
	0x00282110: of(`00\01`),                                                                   // Lossy Image Compression
	0x00282114: several(mostLossy, lossyMethods),                                              // Lossy Image Compression Method
	0x20500020: of(`IDENTITY\INVERSE`),                                                        // Presentation LUT Shape

	0x00100040: traits(of(`M\F\O`)),                                            // Patient's Sex
	0x00101010: traits(rule{vr: "AS", do: amount, low: 0, high: 999, most: 1}), // Patient's Age
	0x00101020: traits(reals(0, 3, 1)),                                         // Patient's Size, in m
	0x00101030: traits(reals(0, 700, 1)),                                       // Patient's Weight, in kg

	0x00180060: reals(0, 1000, 1),                         // KVP
	0x00181110: reals(0, 100000, 1),                       // Distance Source to Detector, in mm
	0x00181111: reals(0, 100000, 1),                       // Distance Source to Patient, in mm
	0x00181114: reals(0, 100, 1),                          // Estimated Radiographic Magnification Factor
	0x00181149: wholes(0, 5000, 2),                        // Field of View Dimension(s), in mm
	0x00181150: wholes(0, 100000, 1),                      // Exposure Time, in ms
	0x00181151: wholes(0, 10000, 1),                       // X-Ray Tube Current, in mA
	0x00181152: wholes(0, 10000, 1),                       // Exposure, in mAs
	0x00181153: wholes(0, 1e6, 1),                         // Exposure in uAs
	0x00181164: reals(0, 1000, 2),                         // Imager Pixel Spacing, in mm
	0x00181190: reals(0, 10, 4),                           // Focal Spot(s), in mm
	0x00181405: wholes(0, 65535, 1),                       // Relative X-Ray Exposure
	0x00181411: reals(0, 65535, 1),                        // Exposure Index
	0x00181412: reals(0, 65535, 1),                        // Target Exposure Index
	0x00181413: reals(-100, 100, 1),                       // Deviation Index
	0x00181702: wholes(-farEdge, farEdge, 1),              // Collimator Left Vertical Edge
	0x00181704: wholes(-farEdge, farEdge, 1),              // Collimator Right Vertical Edge
	0x00181706: wholes(-farEdge, farEdge, 1),              // Collimator Upper Horizontal Edge
	0x00181708: wholes(-farEdge, farEdge, 1),              // Collimator Lower Horizontal Edge
	0x00181710: wholes(-farEdge, farEdge, 2),              // Center of Circular Collimator
	0x00181712: wholes(0, farEdge, 1),                     // Radius of Circular Collimator
	0x00182010: reals(0, 1000, 2),                         // Nominal Scanned Pixel Spacing, in mm
	0x00186000: reals(0, 65535, 1),                        // Sensitivity
	0x00187020: reals(0, 10, 2),                           // Detector Element Physical Size, in mm
	0x00187022: reals(0, 10, 2),                           // Detector Element Spacing, in mm
	0x00187030: reals(-farEdge, farEdge, 2),               // Field of View Origin
	0x00187032: reals(0, 360, 1),                          // Field of View Rotation
	0x00280030: reals(0, 1000, 2),                         // Pixel Spacing, in mm
	0x00280034: wholes(0, 100000, 2),                      // Pixel Aspect Ratio
	0x00281050: reals(-mostValue, mostValue, mostWindows), // Window Center
	0x00281051: reals(0, mostValue, mostWindows),          // Window Width
	0x00281052: reals(-mostValue, mostValue, 1),           // Rescale Intercept
	0x00281053: reals(-mostValue, mostValue, 1),           // Rescale Slope
	0x00282112: reals(0, 10000, mostLossy),                // Lossy Image Compression Ratio
}

// viewPositions are the defined terms of PS3.3 C.8.1.1 and C.8.11.5, and words in
// common use for views of a hip that have no term.
const viewPositions = `AP\PA\LL\RL\RLD\LLD\RLO\LLO\LATERAL\LAT\OBLIQUE\OBL\DECUB\AXIAL\AX\FROG\FROGLEG\FROG LEG`

// lossyMethods are the defined terms of PS3.3 C.7.6.1.1.5.1.
const lossyMethods = `ISO_10918_1\ISO_14495_1\ISO_15444_1\ISO_15444_2\ISO_15444_15\ISO_18181_1\ISO_13818_2\ISO_14496_10\ISO_23008_2`

// bodyParts are defined terms of PS3.16 annex L.
const bodyParts = `ABDOMEN\ABDOMENPELVIS\ANKLE\ANUS\ARM\BACK\BLADDER\BONE\BRAIN\BREAST\BUTTOCK\CALCANEUS\CALF\CHEST\CHESTABDOMEN` +
	`\CHESTABDPELVIS\CLAVICLE\COCCYX\COLON\CSPINE\CTSPINE\ELBOW\EXTREMITY\FACE\FEMUR\FIBULA\FINGER\FOOT\FOREARM\HAND\HEAD` +
	`\HEADNECK\HEART\HIP\HUMERUS\ILIUM\JAW\KNEE\LEG\LOWERLEG\LSPINE\LSSPINE\LUNG\MANDIBLE\MAXILLA\MEDIASTINUM\NECK` +
	`\NECKCHEST\NECKCHESTABDOMEN\NECKCHESTABDPELV\PATELLA\PELVIS\PELVISLOWEXTREMT\RADIUS\RIB\SACRUM\SCAPULA\SELLA\SHOULDER` +
	`\SIJOINT\SKULL\SPINE\SSPINE\STERNUM\STOMACH\SUBMANDIBULAR\THIGH\THUMB\TIBIA\TLSPINE\TMJ\TOE\TSPINE\ULNA\UPPERARM` +
	`\WHOLEBODY\WRIST\ZYGOMA`

// orientations are the directions of PS3.3 C.7.6.1.1.1: up to three letters, no two
// of one pair.
func orientations() (terms string) {
	pairs := []string{"AP", "RL", "HF"}
	var grow func(have string, used int)
	grow = func(have string, used int) {
		terms += have + `\`
		for i, pair := range pairs {
			if used&(1<<i) == 0 {
				for _, letter := range pair {
					grow(have+string(letter), used|1<<i)
				}
			}
		}
	}
	grow("", 0)
	return terms
}
