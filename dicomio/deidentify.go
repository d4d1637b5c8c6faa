package dicomio

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"image"
	"io"
	"math/big"
	"slices"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"

	"linerwatch/dicomio/letters"
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
// Of text that is burned into the picture it sees what package letters does, and may
// miss any: see Black and the warnings.
type Deidentifier struct {
	// KeepCharacteristics keeps sex, age, size and weight (Retain Patient
	// Characteristics Option).
	KeepCharacteristics bool
	// Black are parts of the picture, in its pixels, to be made black in every frame.
	Black []image.Rectangle
	// BlackText makes black what looks like text, too: see package letters.
	BlackText bool
	// NoTextLeft is a person's statement, after looking, that no burned-in text that
	// identifies is left: Burned In Annotation becomes NO and the Clean Pixel Data
	// Option is recorded, unless what looks like text is left. Without it that tag is never NO.
	NoTextLeft bool

	key []byte
}

// Deidentified says what became of a film.
type Deidentified struct {
	Patient  string            // who the film was of: Patient ID and its issuer, else the study's UID
	Code     string            // the new Patient ID
	Days     int               // that every date has been moved by, below 0
	Text     []image.Rectangle // parts that look like text, made black where BlackText is set
	Warnings []*Fault          // what a person has to look at
}

const (
	minKey   = 16   // bytes
	maxShift = 3650 // days

	mostPlaces = 8 // named in a warning
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
	k := &keeper{d: d, h: h, f: f, els: map[uint32][]byte{}}
	if err := k.gather(); err != nil {
		return nil, Deidentified{}, err
	}
	if need := int64(f.Frames) * int64(f.Rows) * int64(f.Columns) * 2; need > maxFile {
		return nil, Deidentified{}, unsupported("read.many-frames", "%d frames are too many to be written uncompressed", "Frames", f.Frames)
	}
	pixels, err := d.pixels(h, f)
	if err != nil {
		return nil, Deidentified{}, err
	}
	if black := d.blacked(pixels.text); len(black) > 0 { // an archive keeps what came first under a UID
		k.put(0x00080018, "UI", d.uid(k.h.str(tag.SOPInstanceUID)+fmt.Sprint(black)))
	}
	k.clear = d.NoTextLeft && (d.BlackText || len(pixels.text) == 0)
	k.replace()
	k.warnText(pixels.text)
	k.burned(len(pixels.text) > 0 && !d.BlackText)
	out := k.encode()
	out = append(appendHead(out, pixelDataTag, "OW", len(pixels.stored)), pixels.stored...)
	return out, Deidentified{Text: pixels.text, Patient: k.named, Code: k.code(), Days: k.days(), Warnings: k.warnings}, nil
}

// cleanPixels are the stored values of all frames, blacked out, in 16 bits each, and
// the places that look like text in any of them.
type cleanPixels struct {
	stored []byte
	text   []image.Rectangle
}

// pixels decodes the frames of a film, and marks it as lossy where a codestream is.
func (d *Deidentifier) pixels(h *header, film *Film) (out cleanPixels, err error) {
	for n := range film.Frames {
		f, err := h.frame(n + 1) // which leaves the file's bytes as they are where there are several
		if err != nil {
			return out, err
		}
		film.Lossy = film.Lossy || f.Lossy
		for _, r := range d.Black {
			f.BlackOut(r)
		}
		for _, r := range f.Letters() {
			if d.BlackText {
				f.BlackOut(r)
			}
			if !slices.Contains(out.text, r) {
				out.text = append(out.text, r)
			}
		}
		out.stored = append(out.stored, f.stored(binary.LittleEndian)...)
	}
	return out, nil
}

// burned states Burned In Annotation: NO where a person has looked and none of what looks like
// text is left, YES where some is, and else nothing, whatever the film said of itself, since nobody
// has seen it (PS3.15 E.3.1). Digital X-ray objects have to say one (PS3.3 C.8.11.3): YES.
func (k *keeper) burned(left bool) {
	delete(k.els, 0x00280301)
	switch {
	case k.clear:
		k.put(0x00280301, "CS", "NO")
		return
	case left || k.f.BurnedIn == "YES" || filmClasses[value(k.els[0x00080016])].intent != "":
		k.put(0x00280301, "CS", "YES")
	}
	switch {
	case k.d.NoTextLeft:
		k.warn("identity.text-stands", "it was stated that no text is left, and what looks like text is: make that black, too, for the copy to say so")
	case len(k.d.Black) > 0:
		k.warn("identity.blacked", "parts were made black: look whether text is left, and state it if there is none")
	case k.f.BurnedIn == "YES":
		k.warn("identity.burned-in", "the film says that it has burned-in text: look at it, and black out what identifies")
	case k.f.BurnedIn == "NO":
		k.warn("identity.unseen", "the film says that it is free of burned-in text, which nobody has checked: look at it, and state it if there is none")
	default:
		k.warn("identity.look", "the film does not say that it is free of burned-in text: look at it, and black out what identifies")
	}
}

// blacked are the parts of a picture that are made black, text those that look like text.
func (d *Deidentifier) blacked(text []image.Rectangle) []image.Rectangle {
	if d.BlackText {
		return slices.Concat(d.Black, text)
	}
	return d.Black
}

// warnText names the places that look like text.
func (k *keeper) warnText(places []image.Rectangle) {
	if len(places) == 0 {
		return
	}
	var words []string
	for _, r := range places[:min(len(places), mostPlaces)] {
		words = append(words, fmt.Sprintf("%d,%d,%d,%d", r.Min.X, r.Min.Y, r.Dx(), r.Dy()))
	}
	if n := len(places) - mostPlaces; n > 0 {
		words = append(words, fmt.Sprintf("%d more", n))
	}
	if k.d.BlackText {
		k.warn("identity.text-black", "what looks like text was made black at %s: look whether text is left", "Places", strings.Join(words, " and "))
	} else {
		k.warn("identity.text", "there seems to be text at %s: look at it, and whether there is more", "Places", strings.Join(words, " and "))
	}
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

// uid is the UID that takes the place of one in a file.
func (d *Deidentifier) uid(old string) string {
	if old == "" {
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

// Letters returns the parts of Pixels that look like text: see package letters.
func (f *Film) Letters() []image.Rectangle { return letters.Find(f.Pixels) }
