package dicomio

import (
	"strings"
)

// what is done with an element that is kept.
type action int

const (
	keep     action = iota // as it is, if it is what its type allows
	mapUID                 // another UID
	moveDate               // another day
	trait                  // a characteristic of the patient
	codes                  // a sequence of codes of public schemes
	tables                 // a sequence of look-up tables
)

// kept are the elements that are not removed.
var kept = map[uint32]struct {
	vr string
	do action
}{
	0x00080008: {"CS", keep},     // Image Type
	0x00080016: {"UI", mapUID},   // SOP Class UID
	0x00080018: {"UI", mapUID},   // SOP Instance UID
	0x00080020: {"DA", moveDate}, // Study Date
	0x00080021: {"DA", moveDate}, // Series Date
	0x00080022: {"DA", moveDate}, // Acquisition Date
	0x00080023: {"DA", moveDate}, // Content Date
	0x0008002A: {"DT", moveDate}, // Acquisition DateTime
	0x00080060: {"CS", keep},     // Modality
	0x00080064: {"CS", keep},     // Conversion Type
	0x00080068: {"CS", keep},     // Presentation Intent Type
	0x00082218: {"SQ", codes},    // Anatomic Region Sequence

	0x00100040: {"CS", trait}, // Patient's Sex
	0x00101010: {"AS", trait}, // Patient's Age
	0x00101020: {"DS", trait}, // Patient's Size
	0x00101030: {"DS", trait}, // Patient's Weight

	0x00180015: {"CS", keep}, // Body Part Examined
	0x00180060: {"DS", keep}, // KVP
	0x00181110: {"DS", keep}, // Distance Source to Detector
	0x00181111: {"DS", keep}, // Distance Source to Patient
	0x00181114: {"DS", keep}, // Estimated Radiographic Magnification Factor
	0x00181147: {"CS", keep}, // Field of View Shape
	0x00181149: {"IS", keep}, // Field of View Dimension(s)
	0x00181150: {"IS", keep}, // Exposure Time
	0x00181151: {"IS", keep}, // X-Ray Tube Current
	0x00181152: {"IS", keep}, // Exposure
	0x00181153: {"IS", keep}, // Exposure in uAs
	0x00181164: {"DS", keep}, // Imager Pixel Spacing
	0x00181166: {"CS", keep}, // Grid
	0x00181190: {"DS", keep}, // Focal Spot(s)
	0x00181191: {"CS", keep}, // Anode Target Material
	0x00181405: {"IS", keep}, // Relative X-Ray Exposure
	0x00181411: {"DS", keep}, // Exposure Index
	0x00181412: {"DS", keep}, // Target Exposure Index
	0x00181413: {"DS", keep}, // Deviation Index
	0x00181508: {"CS", keep}, // Positioner Type
	0x00181700: {"CS", keep}, // Collimator Shape
	0x00181702: {"IS", keep}, // Collimator Left Vertical Edge
	0x00181704: {"IS", keep}, // Collimator Right Vertical Edge
	0x00181706: {"IS", keep}, // Collimator Upper Horizontal Edge
	0x00181708: {"IS", keep}, // Collimator Lower Horizontal Edge
	0x00181710: {"IS", keep}, // Center of Circular Collimator
	0x00181712: {"IS", keep}, // Radius of Circular Collimator
	0x00182010: {"DS", keep}, // Nominal Scanned Pixel Spacing
	0x00185100: {"CS", keep}, // Patient Position
	0x00185101: {"CS", keep}, // View Position
	0x00186000: {"DS", keep}, // Sensitivity
	0x00187004: {"CS", keep}, // Detector Type
	0x00187020: {"DS", keep}, // Detector Element Physical Size
	0x00187022: {"DS", keep}, // Detector Element Spacing
	0x00187030: {"DS", keep}, // Field of View Origin
	0x00187032: {"DS", keep}, // Field of View Rotation
	0x00187034: {"CS", keep}, // Field of View Horizontal Flip

	0x0020000D: {"UI", mapUID}, // Study Instance UID
	0x0020000E: {"UI", mapUID}, // Series Instance UID
	0x00200011: {"IS", keep},   // Series Number
	0x00200013: {"IS", keep},   // Instance Number
	0x00200020: {"CS", keep},   // Patient Orientation
	0x00200060: {"CS", keep},   // Laterality
	0x00200062: {"CS", keep},   // Image Laterality

	0x00280002: {"US", keep},   // Samples per Pixel
	0x00280004: {"CS", keep},   // Photometric Interpretation
	0x00280008: {"IS", keep},   // Number of Frames
	0x00280010: {"US", keep},   // Rows
	0x00280011: {"US", keep},   // Columns
	0x00280030: {"DS", keep},   // Pixel Spacing
	0x00280034: {"IS", keep},   // Pixel Aspect Ratio
	0x00280103: {"US", keep},   // Pixel Representation
	0x00280120: {"US", keep},   // Pixel Padding Value
	0x00280121: {"US", keep},   // Pixel Padding Range Limit
	0x00280301: {"CS", keep},   // Burned In Annotation
	0x00280A02: {"CS", keep},   // Pixel Spacing Calibration Type
	0x00281040: {"CS", keep},   // Pixel Intensity Relationship
	0x00281041: {"SS", keep},   // Pixel Intensity Relationship Sign
	0x00281050: {"DS", keep},   // Window Center
	0x00281051: {"DS", keep},   // Window Width
	0x00281052: {"DS", keep},   // Rescale Intercept
	0x00281053: {"DS", keep},   // Rescale Slope
	0x00281056: {"CS", keep},   // VOI LUT Function
	0x00282110: {"CS", keep},   // Lossy Image Compression
	0x00282112: {"DS", keep},   // Lossy Image Compression Ratio
	0x00282114: {"CS", keep},   // Lossy Image Compression Method
	0x00283000: {"SQ", tables}, // Modality LUT Sequence
	0x00283010: {"SQ", tables}, // VOI LUT Sequence
	0x00540220: {"SQ", codes},  // View Code Sequence
	0x20500020: {"CS", keep},   // Presentation LUT Shape
}

// publicSchemes are the coding schemes whose codes say nothing of a person.
var publicSchemes = map[string]bool{"SCT": true, "SRT": true, "SNM3": true, "DCM": true}

// walk goes over the film's elements and keeps those that are kept.
func (k *keeper) walk(h *header) error {
	w := &walker{b: h.data, size: h.size, order: h.order, implicit: h.syntax.implicit}
	_, _, err := w.each(h.start, func(e head, next int) error {
		rule, ok := kept[e.tag]
		if !ok || k.els[e.tag] != nil {
			return nil
		}
		switch rule.do {
		case codes:
			return k.codes(w, e, next)
		case tables:
			c := newClean(h.order)
			if err := c.addSequence(w, e, next, lookUps, w.implicit); err != nil {
				return err
			}
			k.els[e.tag] = c.els[e.tag]
			return nil
		}
		if e.n > maxValue || unit(e.vr) != unit(rule.vr) && e.vr != "UN" && e.vr != "" || next-e.value < unit(rule.vr) {
			return nil
		}
		value := ordered(w.b[e.value:next], unit(rule.vr), h.order)
		k.value(e.tag, rule.vr, rule.do, string(value))
		return nil
	})
	if err == nil && k.els[0x00080018] == nil {
		return malformed("read.missing", "%s is missing", "Element", tagName(0x00080018))
	}
	return err
}

// value keeps one value.
func (k *keeper) value(t uint32, vr string, do action, raw string) {
	value := raw
	if unit(vr) == 1 {
		value = strings.Trim(raw, " \x00")
	}
	switch do {
	case mapUID:
		value = k.d.uid(value)
	case moveDate:
		when, err := day(value)
		if err != nil {
			if value != "" {
				k.warn("identity.no-date", "%s is no date and was left out", "Element", tagName(t))
			}
			return
		}
		value = k.shift(when).Format("20060102")
	case trait:
		if !k.d.KeepCharacteristics {
			return
		}
	}
	if !allowed(vr, value) {
		k.warn("identity.not-allowed", "%s is not what its type allows and was left out", "Element", tagName(t))
		return
	}
	k.put(t, vr, value)
}

// allowed reports whether a value is in the repertoire and length of its type
// (PS3.5 table 6.2-1), so that no text passes for a number or a code.
func allowed(vr, value string) bool {
	var letters string
	most := 16
	switch vr {
	case "CS":
		letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 _"
	case "DS":
		letters = "0123456789+-.Ee "
	case "IS":
		letters, most = "0123456789+- ", 12
	case "AS":
		letters, most = "0123456789DWMY", 4
	case "UI":
		letters, most = "0123456789.", 64
	case "DA", "DT":
		letters, most = "0123456789", 8
	default:
		return true // binary numbers
	}
	for part := range strings.SplitSeq(value, `\`) {
		if len(part) > most || strings.Trim(part, letters) != "" {
			return false
		}
	}
	return true
}

// codes keeps the items of a code sequence that are of a public scheme: code,
// scheme and meaning.
func (k *keeper) codes(w *walker, e head, next int) error {
	if e.vr != "" && e.vr != "SQ" && e.vr != "UN" {
		return malformed("read.representation", "%s has the value representation %s", "Element", tagName(e.tag), "VR", e.vr)
	}
	var items []byte
	err := w.items(e, next, func(item head, end int) (int, error) {
		c := newClean(w.order)
		c.sets = k.sets
		p, err := c.addItem(w, item, end, w.implicit || e.vr == "UN", codedItems)
		scheme := value(c.els[0x00080102])
		if err == nil && publicSchemes[scheme] {
			items = appendItem(items, c.encode(nil))
		}
		return p, err
	})
	if err != nil {
		return refused("read.in", "%v in %s", "Why", err, "Element", tagName(e.tag))
	}
	k.els[e.tag] = appendElement(nil, e.tag, "SQ", items)
	return nil
}

// value is the value of an encoded element with a short length, without padding.
func value(element []byte) string {
	if len(element) < 8 {
		return ""
	}
	return strings.TrimRight(string(element[8:]), " \x00")
}
