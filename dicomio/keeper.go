package dicomio

import (
	"encoding/base32"
	"encoding/binary"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// keeper gathers the elements of one film that are written.
type keeper struct {
	d        *Deidentifier
	h        *header
	f        *Film  // without its pixels
	patient  string // what the code and the dates are made from
	named    string // the same for a person to read
	els      map[uint32][]byte
	warnings []*Fault
	clear    bool // somebody has looked, and what looks like text is black
}

// warn adds what refused makes.
func (k *keeper) warn(code, format string, values ...any) {
	k.warnings = append(k.warnings, refused(code, format, values...))
}

// gather takes over what is kept of the film's elements.
func (k *keeper) gather() error {
	if err := k.identify(); err != nil {
		return err
	}
	w := k.walker()
	_, _, err := w.each(k.h.start, func(e head, next int) error {
		r, ok := kept[e.tag]
		switch {
		case !ok || k.els[e.tag] != nil || r.trait && !k.d.KeepCharacteristics:
			return nil
		case r.do == codes:
			return k.codes(w, e, next)
		case e.n > maxValue || unit(e.vr) != 1 || e.vr == "SQ":
			k.warn("identity.not-allowed", "%s is not of the terms or numbers that may stay and was left out", "Element", tagName(e.tag))
			return nil
		}
		k.value(e.tag, r, strings.Trim(string(w.b[e.value:next]), " \x00"))
		return nil
	})
	if err == nil && k.els[0x00080018] == nil {
		return malformed("read.missing", "%s is missing", "Element", tagName(0x00080018))
	}
	return err
}

func (k *keeper) walker() *walker {
	return &walker{b: k.h.data, size: k.h.size, order: k.h.order, implicit: k.h.syntax.implicit}
}

// entityIDs are what is read of an issuer's qualifiers (PS3.3 table 10-18).
var entityIDs = sequence{most: 1, bytes: maxValue, values: map[uint32]string{0x00400032: "UT"}} // Universal Entity ID

// identify finds who the film is of: a Patient ID means a person only together with
// who issued it (PS3.3 C.7.1.1).
func (k *keeper) identify() error {
	id, issuer := k.h.str(tag.PatientID), ""
	w := k.walker()
	_, _, err := w.each(k.h.start, func(e head, next int) error {
		switch e.tag {
		case 0x00100021: // Issuer of Patient ID
			if issuer == "" && e.n <= maxValue {
				issuer = strings.Trim(decodeText(w.b[e.value:next], k.h.sets), " \x00")
			}
		case 0x00100024: // Issuer of Patient ID Qualifiers Sequence
			if issuer != "" || e.vr != "" && e.vr != "SQ" && e.vr != "UN" {
				return nil
			}
			return w.items(e, next, func(item head, end int) (int, error) {
				c := newClean(w.order)
				p, err := c.addItem(w, item, end, w.implicit || e.vr == "UN", entityIDs)
				if b := c.els[0x00400032]; len(b) > 12 {
					issuer = strings.TrimRight(string(b[12:]), " \x00")
				}
				return p, err
			})
		}
		return nil
	})
	k.patient, k.named = id, id
	switch {
	case id == "":
		k.patient = k.h.str(tag.StudyInstanceUID)
		k.named = k.patient
		k.warn("identity.no-patient", "the film names no patient: its code and dates are made from its study")
	case issuer != "":
		k.patient, k.named = id+"\n"+issuer, id+" of "+issuer
	}
	return err
}

// value keeps what may stay of one value.
func (k *keeper) value(t uint32, r rule, value string) {
	switch r.do {
	case mapUID:
		k.put(t, r.vr, k.d.uid(value))
	case moveDate:
		when, err := day(value)
		if err == nil {
			k.put(t, r.vr, k.moved(when))
		} else if value != "" {
			k.warn("identity.no-date", "%s is no date and was left out", "Element", tagName(t))
		}
	default:
		clean, ok := r.allowed(value)
		if t == 0x00080008 {
			clean, ok = imageType(value)
		}
		if clean != "" || value == "" {
			k.put(t, r.vr, clean)
		}
		if !ok {
			k.warn("identity.not-allowed", "%s is not of the terms or numbers that may stay and was left out", "Element", tagName(t))
		}
	}
}

// allowed returns a value as it may stay; ok is false where it may not.
func (r rule) allowed(value string) (clean string, ok bool) {
	if value == "" {
		return "", true
	}
	parts := strings.Split(value, `\`)
	if len(parts) > r.most {
		return "", false
	}
	for i, part := range parts {
		part = strings.Trim(part, " \x00")
		switch {
		case r.do == word:
			ok = slices.Contains(strings.Split(r.terms, `\`), part)
		case r.vr == "AS":
			ok = len(part) == 4 && strings.Trim(part[:3], "0123456789") == "" && strings.Contains("DWMY", part[3:])
		default:
			part, ok = r.plain(part)
		}
		if !ok {
			return "", false
		}
		parts[i] = part
	}
	return strings.Join(parts, `\`), true
}

// plain writes a number in one way, without what leading zeros and the like can hide.
func (r rule) plain(s string) (string, bool) {
	letters := "0123456789+-"
	if r.vr == "DS" {
		letters += ".Ee"
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || strings.Trim(s, letters) != "" || v < r.low || v > r.high {
		return "", false
	}
	if short := decimal(v); len(s) > 16 || same(short, v) {
		return short, true
	}
	return s, true // which has more digits than decimal writes
}

func same(s string, v float64) bool {
	w, err := strconv.ParseFloat(s, 64)
	return err == nil && w == v
}

// imageType keeps the first two values (PS3.3 C.7.6.1.1.2) and leaves the third empty.
func imageType(value string) (clean string, ok bool) {
	parts := append(strings.Split(value, `\`), "", "")
	origin, _ := of(`ORIGINAL\DERIVED`).allowed(parts[0])
	use, _ := of(`PRIMARY\SECONDARY`).allowed(parts[1])
	ok = origin != "" && use != "" && strings.Trim(strings.Join(parts[2:], ""), " ") == ""
	if origin == "" || use == "" {
		return "", ok
	}
	return origin + `\` + use + `\`, ok
}

// code is the patient's new code: 50 bits, so that among a million patients two
// have the same with a probability below 1 in 1000.
func (k *keeper) code() string {
	return "P" + base32.StdEncoding.EncodeToString(k.d.mac("patient", k.patient))[:10]
}

// days is the patient's number of days, which is never 0.
func (k *keeper) days() int {
	return -1 - int(binary.BigEndian.Uint64(k.d.mac("dates", k.patient))%maxShift)
}

// moved is a date moved by the patient's number of days.
func (k *keeper) moved(t time.Time) string { return t.AddDate(0, 0, k.days()).Format("20060102") }

// put writes an element anew.
func (k *keeper) put(t uint32, vr, value string) {
	k.els[t] = appendElement(nil, t, vr, []byte(value))
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
