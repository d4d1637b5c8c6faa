package dicomio

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"image"
	"io"
	"maps"
	"math/big"
	"slices"
	"strings"
	"time"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Deidentifier removes what tells who a film is of, after the Basic Application
// Level Confidentiality Profile of PS3.15 annex E with the option to retain
// longitudinal temporal information with modified dates.
//
// It does not go by a list of what to remove but by one of what to keep (see
// kept): the picture, its geometry and exposure, and codes of anatomy and view.
// All else goes: names, texts, times of day, institutions, devices, private
// elements, overlays and curves, whatever stands after the pixels or in their
// unused bits. Pixels are written uncompressed, so that no comment of a
// codestream survives. Codes, UIDs and the shift of dates are made from a secret
// key: the same key gives the same result, so that a patient's films stay
// together and the days between them are unchanged.
//
// It cannot see text that is burned into the picture: see Black and the warnings.
type Deidentifier struct {
	// KeepCharacteristics keeps sex, age, size and weight (Retain Patient
	// Characteristics Option).
	KeepCharacteristics bool
	// Black are parts of the picture, in its pixels, to be made black in every frame.
	Black []image.Rectangle
	// NoTextLeft is a person's statement, after looking, that no burned-in text that
	// identifies is left: Burned In Annotation becomes NO and the Clean Pixel Data
	// Option is recorded. Without it that tag stays as it was, whatever was made black.
	NoTextLeft bool

	key []byte
}

// Deidentified says what became of a film.
type Deidentified struct {
	Code     string   // the new Patient ID
	Warnings []*Fault // what a person has to look at
}

const (
	minKey   = 16   // bytes
	maxShift = 3650 // days
)

// NewDeidentifier returns a Deidentifier with a secret key of at least 16 bytes.
// Whoever has the key can link the films to the patients again.
func NewDeidentifier(key []byte) (*Deidentifier, error) {
	if len(key) < minKey {
		return nil, refused("write.key", "key of %d bytes; at least %d are needed", "Bits", len(key), "Least", minKey)
	}
	return &Deidentifier{key: slices.Clone(key)}, nil
}

// File reads the DICOM film from, and writes it without its identity to to,
// through a temporary file so that to never holds half of it.
func (d *Deidentifier) File(from, to string) (Deidentified, error) {
	b, _, err := read(from)
	if err != nil {
		return Deidentified{}, named(from, err)
	}
	out, done, err := d.film(b)
	if err != nil {
		return Deidentified{}, named(from, err)
	}
	return done, writeFile(to, func(w io.Writer) error {
		_, err := w.Write(out)
		return err
	})
}

// film returns the file b without its identity. It may write into b.
func (d *Deidentifier) film(b []byte) ([]byte, Deidentified, error) {
	if kind := sniff(b); kind != "DICOM" {
		return nil, Deidentified{}, anonymous(kind)
	}
	h, err := parseHeader(b, len(b))
	if err != nil {
		return nil, Deidentified{}, err
	}
	f, _, err := h.film(1)
	if err != nil {
		return nil, Deidentified{}, err
	}
	k := &keeper{d: d, patient: h.str(tag.PatientID), sets: h.sets, els: map[uint32][]byte{}}
	if k.patient == "" {
		k.patient = h.str(tag.StudyInstanceUID)
		k.warn("identity.no-patient", "the film names no patient: its code and dates are made from its study")
	}
	if err := k.walk(h); err != nil {
		return nil, Deidentified{}, err
	}
	if need := int64(f.Frames) * int64(f.Rows) * int64(f.Columns) * 2; need > maxFile {
		return nil, Deidentified{}, unsupported("read.many-frames", "%d frames are too many to be written uncompressed", "Frames", f.Frames)
	}
	pixels, err := d.pixels(h, f.Frames)
	if err != nil {
		return nil, Deidentified{}, err
	}
	k.replace(f)
	switch {
	case d.NoTextLeft || f.BurnedIn == "NO":
	case len(d.Black) > 0:
		k.warn("identity.blacked", "parts were made black: look whether text is left, and state it if there is none")
	case f.BurnedIn == "YES":
		k.warn("identity.burned-in", "the film says that it has burned-in text: look at it, and black out what identifies")
	default:
		k.warn("identity.look", "the film does not say that it is free of burned-in text: look at it, and black out what identifies")
	}
	out := k.encode()
	out = append(appendHead(out, pixelDataTag, "OW", len(pixels)), pixels...)
	return out, Deidentified{Code: k.code(), Warnings: k.warnings}, nil
}

// pixels returns the stored values of all frames, blacked out, in 16 bits each.
func (d *Deidentifier) pixels(h *header, frames int) (out []byte, err error) {
	for n := range frames {
		f, err := h.frame(n + 1) // which leaves the file's bytes as they are where there are several
		if err != nil {
			return nil, err
		}
		for _, r := range d.Black {
			f.BlackOut(r)
		}
		out = append(out, f.stored(binary.LittleEndian)...)
	}
	return out, nil
}

// BlackOut makes a part of the picture black, as far as it lies inside.
func (f *Film) BlackOut(r image.Rectangle) {
	r = r.Canon().Intersect(f.Pixels.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		clear(f.Pixels.Pix[f.Pixels.PixOffset(r.Min.X, y):][:2*r.Dx()])
	}
}

// mac is the keyed hash of a text for a purpose.
func (d *Deidentifier) mac(purpose, s string) []byte {
	m := hmac.New(sha256.New, d.key)
	fmt.Fprintf(m, "%s\n%s", purpose, s)
	return m.Sum(nil)
}

// uid is the UID that takes the place of one in a file; those that the standard
// itself defines stay.
func (d *Deidentifier) uid(old string) string {
	if old == "" || strings.HasPrefix(old, "1.2.840.10008.") {
		return old
	}
	return asUID(d.mac("uid", old))
}

// asUID makes a UID of 16 bytes of a hash (PS3.5 annex B.2), as a UUID of
// version 8 (RFC 9562).
func asUID(sum []byte) string {
	u := slices.Clone(sum[:16])
	u[6] = u[6]&0x0F | 0x80
	u[8] = u[8]&0x3F | 0x80
	return "2.25." + new(big.Int).SetBytes(u).String()
}

// keeper gathers the elements of one film that are written.
type keeper struct {
	d        *Deidentifier
	patient  string
	sets     []string // character sets of the film
	els      map[uint32][]byte
	warnings []*Fault
}

// warn adds what refused makes.
func (k *keeper) warn(code, format string, values ...any) {
	k.warnings = append(k.warnings, refused(code, format, values...))
}

// code is the patient's new code: 50 bits, so that among a million patients two
// have the same with a probability below 1 in 1000.
func (k *keeper) code() string {
	return "P" + base32.StdEncoding.EncodeToString(k.d.mac("patient", k.patient))[:10]
}

// shift moves a date back by the patient's number of days, which is never 0.
func (k *keeper) shift(t time.Time) time.Time {
	n := binary.BigEndian.Uint64(k.d.mac("dates", k.patient))
	return t.AddDate(0, 0, -1-int(n%maxShift))
}

// put writes an element anew.
func (k *keeper) put(t uint32, vr, value string) {
	k.els[t] = appendElement(nil, t, vr, []byte(value))
}

// replace fills in what the profile wants to be there.
func (k *keeper) replace(f *Film) {
	u16 := func(t uint32, n int) { k.put(t, "US", string(binary.LittleEndian.AppendUint16(nil, uint16(n)))) }
	k.put(0x00080005, "CS", "ISO_IR 192")
	k.put(0x00100010, "PN", k.code())
	k.put(0x00100020, "LO", k.code())
	for t, vr := range map[uint32]string{ // to be there, with or without a value
		0x00080020: "DA", 0x00080030: "TM", 0x00080050: "SH", 0x00080070: "LO", 0x00080090: "PN",
		0x00100030: "DA", 0x00100040: "CS", 0x00200010: "SH",
	} {
		if k.els[t] == nil {
			k.put(t, vr, "")
		}
	}
	k.put(0x00120062, "CS", "YES")
	k.put(0x00120063, "LO", "PS3.15 annex E, by a list of what is kept")
	k.put(0x00120064, "SQ", string(k.methods()))
	k.put(0x00280303, "CS", "MODIFIED")
	u16(0x00280002, 1) // whatever the film was stored in, its pixels are written grey
	k.put(0x00280004, "CS", f.Photometric)
	u16(0x00280100, 16)
	u16(0x00280101, f.Bits)
	u16(0x00280102, f.Bits-1)
	if k.d.NoTextLeft {
		k.put(0x00280301, "CS", "NO")
	}
}

// methods are the codes of PS3.16 CID 7050 for what was done.
func (k *keeper) methods() (items []byte) {
	codes := [][2]string{
		{"113100", "Basic Application Confidentiality Profile"},
		{"113107", "Retain Longitudinal Temporal Information Modified Dates Option"},
	}
	if k.d.NoTextLeft {
		codes = append(codes, [2]string{"113101", "Clean Pixel Data Option"})
	}
	if k.d.KeepCharacteristics {
		codes = append(codes, [2]string{"113108", "Retain Patient Characteristics Option"})
	}
	for _, c := range codes {
		b := appendElement(nil, 0x00080100, "SH", []byte(c[0]))
		b = appendElement(b, 0x00080102, "SH", []byte("DCM"))
		b = appendElement(b, 0x00080104, "LO", []byte(c[1]))
		items = appendItem(items, b)
	}
	return items
}

// encode returns the file up to the pixel data.
func (k *keeper) encode() []byte {
	class, instance := value(k.els[0x00080016]), value(k.els[0x00080018])
	meta := appendElement(nil, 0x00020002, "UI", []byte(class))
	meta = appendElement(meta, 0x00020003, "UI", []byte(instance))
	b := appendMeta(nil, explicitLittle, meta)
	for _, t := range slices.Sorted(maps.Keys(k.els)) {
		b = append(b, k.els[t]...)
	}
	return b
}
