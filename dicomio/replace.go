package dicomio

import (
	"encoding/binary"
	"strconv"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// secondaryCapture and its form of several frames take the place of SOP classes that
// only their maker knows: they ask for nothing but the picture (PS3.3 A.8).
const (
	secondaryCapture   = "1.2.840.10008.5.1.4.1.1.7"
	secondaryMultiWord = "1.2.840.10008.5.1.4.1.1.7.3"
)

// mayBeEmpty are the elements that have to be there, with or without a value, in
// every film and in the films of some SOP classes (PS3.3 A.2, A.26, A.27, A.28).
var mayBeEmpty = map[uint32]string{
	0x00080020: "DA", 0x00080030: "TM", 0x00080050: "SH", 0x00080070: "LO", 0x00080090: "PN",
	0x00100030: "DA", 0x00100040: "CS", 0x00200010: "SH",
}

var (
	computed = map[uint32]string{0x00180015: "CS", 0x00185101: "CS"}
	digital  = map[uint32]string{0x00082218: "SQ", 0x00187004: "CS", 0x00181508: "CS", 0x00400555: "SQ"}
)

// filmClasses are the SOP classes of PS3.4 B.5 that a film keeps: those that need no
// elements that are not kept.
var filmClasses = map[string]struct {
	empty  map[uint32]string // besides mayBeEmpty
	intent string            // Presentation Intent Type
}{
	"1.2.840.10008.5.1.4.1.1.1":     {empty: computed},
	digitalXRay:                     {digital, "FOR PRESENTATION"},
	"1.2.840.10008.5.1.4.1.1.1.1.1": {digital, "FOR PROCESSING"},
	"1.2.840.10008.5.1.4.1.1.1.2":   {digital, "FOR PRESENTATION"}, // mammography
	"1.2.840.10008.5.1.4.1.1.1.2.1": {digital, "FOR PROCESSING"},
	"1.2.840.10008.5.1.4.1.1.1.3":   {digital, "FOR PRESENTATION"}, // intra-oral
	"1.2.840.10008.5.1.4.1.1.1.3.1": {digital, "FOR PROCESSING"},
	"1.2.840.10008.5.1.4.1.1.2":     {}, // CT
	"1.2.840.10008.5.1.4.1.1.4":     {}, // MR
	"1.2.840.10008.5.1.4.1.1.6.1":   {}, // ultrasound
	"1.2.840.10008.5.1.4.1.1.3.1":   {},
	secondaryCapture:                {},
	"1.2.840.10008.5.1.4.1.1.7.2":   {}, // of several frames, in bytes
	secondaryMultiWord:              {},
	"1.2.840.10008.5.1.4.1.1.12.1":  {}, // angiography
	"1.2.840.10008.5.1.4.1.1.12.2":  {}, // fluoroscopy
	"1.2.840.10008.5.1.4.1.1.20":    {}, // nuclear medicine
	"1.2.840.10008.5.1.4.1.1.128":   {}, // PET
	"1.2.840.10008.5.1.4.1.1.481.1": {}, // of radiotherapy
}

// replace fills in what the profile and the film's class want to be there, and what
// was read of the picture.
func (k *keeper) replace() {
	k.groups()
	k.class()
	k.put(0x00080005, "CS", "ISO_IR 192")
	k.put(0x00100010, "PN", k.code())
	k.put(0x00100020, "LO", k.code())
	k.put(0x00120062, "CS", "YES")
	k.put(0x00120063, "LO", "PS3.15 annex E, by a list of what is kept")
	k.put(0x00120064, "SQ", string(k.methods()))
	k.put(0x00280303, "CS", "MODIFIED")
	k.picture()
	k.greys()
	k.lossy()
}

// class keeps the SOP class or puts another in its place, with what it wants.
func (k *keeper) class() {
	class := k.h.str(tag.SOPClassUID)
	if class == "" {
		class = k.h.class
	}
	if _, ok := filmClasses[class]; !ok {
		class = secondaryCapture
		if k.f.Frames > 1 || k.els[0x52009229] != nil || k.els[0x52009230] != nil { // which may have groups
			class = secondaryMultiWord
		}
		k.warn("identity.class", "its SOP class is private or needs what is not kept: written as Secondary Capture")
	}
	k.put(0x00080016, "UI", class)
	c := filmClasses[class]
	for _, empty := range []map[uint32]string{mayBeEmpty, c.empty} {
		for t, vr := range empty {
			k.orElse(t, vr, "")
		}
	}
	// A film's own numbers in a study may be those of a person.
	k.put(0x00200011, "IS", "1")
	k.put(0x00200013, "IS", "1")
	k.orElse(0x00080060, "CS", "OT")
	if k.els[0x00280A02] != nil { // which wants a description with it
		k.put(0x00280A04, "LO", "not kept")
	}
	if c.intent != "" {
		k.orElse(0x00080068, "CS", c.intent)
		k.orElse(0x00080008, "CS", `DERIVED\SECONDARY\`)
		k.orElse(0x00200062, "CS", "U")
	}
	if class == secondaryCapture || class == secondaryMultiWord {
		k.orElse(0x00080064, "CS", "WSD")
		k.orElse(0x00200060, "CS", "")
	}
}

// orElse puts an element where there is none.
func (k *keeper) orElse(t uint32, vr, value string) {
	if k.els[t] == nil {
		k.put(t, vr, value)
	}
}

// picture writes how the pixels lie.
func (k *keeper) picture() {
	f, representation := k.f, 0
	if f.Signed {
		representation = 1
	}
	k.put(0x00280004, "CS", f.Photometric)
	if k.h.str(tag.NumberOfFrames) != "" {
		k.put(0x00280008, "IS", strconv.Itoa(f.Frames))
	}
	for t, n := range map[uint32]int{
		0x00280002: 1, 0x00280010: f.Rows, 0x00280011: f.Columns,
		0x00280100: 16, 0x00280101: f.Bits, 0x00280102: f.Bits - 1, 0x00280103: representation,
	} {
		k.number(t, "US", n)
	}
	if p := f.Greys.Padding; p != nil {
		k.number(0x00280120, signedVR(f.Signed), p.Low)
		if p.High > p.Low {
			k.number(0x00280121, signedVR(f.Signed), p.High)
		}
	}
}

// number puts a number of 16 bits.
func (k *keeper) number(t uint32, vr string, n int) {
	k.put(t, vr, string(binary.LittleEndian.AppendUint16(nil, uint16(n))))
}

// signedVR is the type of a number that is signed where the pixels are (PS3.5 A.2).
func signedVR(signed bool) string {
	if signed {
		return "SS"
	}
	return "US"
}

// greys writes how stored values become greys. The type of the rescaled values may be
// any word of the file; US, unspecified, is true of all of them (PS3.3 C.11.1.1.2).
func (k *keeper) greys() {
	g := &k.f.Greys
	if g.Sign != 0 {
		k.number(0x00281041, "SS", g.Sign)
	}
	if k.els[0x00281052] != nil || k.els[0x00281053] != nil {
		k.orElse(0x00281052, "DS", "0")
		k.orElse(0x00281053, "DS", "1")
		k.put(0x00281054, "LO", "US")
	}
	if g.Modality != nil {
		k.tables(0x00283000, k.f.Signed, appendElement(nil, 0x00283004, "LO", []byte("US")), *g.Modality)
	}
	low, _ := k.f.modalityRange()
	k.tables(0x00283010, low < 0, nil, g.Tables...)
	shape := "IDENTITY"
	if k.f.inverted() {
		shape = "INVERSE"
	}
	if filmClasses[value(k.els[0x00080016])].intent != "" {
		k.orElse(0x20500020, "CS", shape)
	}
}

// tables writes look-up tables, of which neither names nor what stands behind their
// entries stays. One that turns back is no scale of greys.
func (k *keeper) tables(t uint32, signed bool, kind []byte, tables ...Table) {
	var items []byte
	for _, l := range tables {
		if !l.monotone() {
			k.warn("identity.table", "a table of %s neither rises nor falls throughout and was left out", "Element", tagName(t))
			continue
		}
		descriptor := binary.LittleEndian.AppendUint16(nil, uint16(len(l.Data)))
		descriptor = binary.LittleEndian.AppendUint16(descriptor, uint16(l.First))
		descriptor = binary.LittleEndian.AppendUint16(descriptor, uint16(l.Bits))
		var data []byte
		for _, v := range l.Data {
			data = binary.LittleEndian.AppendUint16(data, v)
		}
		item := append(appendElement(nil, 0x00283002, signedVR(signed), descriptor), kind...)
		items = appendItem(items, appendElement(item, 0x00283006, "OW", data))
	}
	if items != nil {
		k.put(t, "SQ", string(items))
	}
}

// monotone reports whether the entries only rise or only fall, within their bits.
func (t Table) monotone() bool {
	rises, falls := true, true
	for i, v := range t.Data {
		if v > mask(t.Bits) {
			return false
		}
		if i > 0 {
			rises = rises && v >= t.Data[i-1]
			falls = falls && v <= t.Data[i-1]
		}
	}
	return rises || falls
}

// lossyMethod is the method of compression with loss of a transfer syntax.
var lossyMethod = map[string]string{
	"1.2.840.10008.1.2.4.50": "ISO_10918_1", "1.2.840.10008.1.2.4.51": "ISO_10918_1",
	"1.2.840.10008.1.2.4.81": "ISO_14495_1", "1.2.840.10008.1.2.4.91": "ISO_15444_1",
	"1.2.840.10008.1.2.4.203": "ISO_15444_15",
}

// lossy keeps what is known of losses: a film that is written uncompressed has had
// them all the same (PS3.3 C.7.6.1.1.5). A file that is compressed with loss and does
// not say how is given the method of its transfer syntax and the ratio of its bytes.
func (k *keeper) lossy() {
	if !k.f.Lossy {
		if filmClasses[value(k.els[0x00080016])].intent != "" {
			k.orElse(0x00282110, "CS", "00")
		}
		return
	}
	k.put(0x00282110, "CS", "01")
	method := lossyMethod[k.h.uid]
	if method == "" || k.els[0x00282114] != nil || k.els[0x00282112] != nil {
		return
	}
	k.put(0x00282114, "CS", method)
	packed := 0
	for n := range k.f.Frames {
		frame, err := k.h.encapsulated(k.f.Frames, n+1)
		if err != nil || len(frame) == 0 {
			return
		}
		packed += len(frame)
	}
	stored := k.f.Rows * k.f.Columns * k.f.Frames * k.f.Allocated / 8
	k.put(0x00282112, "DS", strconv.FormatFloat(float64(stored)/float64(packed), 'f', 2, 64))
}

// methods are the codes of PS3.16 CID 7050 for what was done.
func (k *keeper) methods() (items []byte) {
	codes := [][2]string{
		{"113100", "Basic Application Confidentiality Profile"},
		{"113107", "Retain Longitudinal Temporal Information Modified Dates Option"},
	}
	if k.clear {
		codes = append(codes, [2]string{"113101", "Clean Pixel Data Option"})
	}
	if k.d.KeepCharacteristics {
		codes = append(codes, [2]string{"113108", "Retain Patient Characteristics Option"})
	}
	for _, c := range codes {
		items = appendItem(items, codeItem(c[0], "DCM", c[1]))
	}
	return items
}
