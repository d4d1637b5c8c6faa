package dicomio

import (
	"strings"

	"github.com/suyashkumar/dicom/pkg/charset"
)

// Texts are encoded in the character sets that Specific Character Set
// (0008,0005) names (PS3.3 C.12.1.1.2, PS3.5 section 6.1). The first is in force
// at the beginning of each value; escape sequences of ISO/IEC 2022 change to
// another, by its code in G0 (bytes below 128) or G1 (above).

const escape = '\x1b'

// escapes are the escape sequences of PS3.3 tables C.12-3 and C.12-4, without
// the escape itself, and the set that each designates.
var escapes = []struct {
	sequence, set string
	keep          bool // the decoder wants the sequence too
}{
	{"(B", "ISO_IR 6", false},
	{"-A", "ISO_IR 100", false},
	{"-B", "ISO_IR 101", false},
	{"-C", "ISO_IR 109", false},
	{"-D", "ISO_IR 110", false},
	{"-F", "ISO_IR 126", false},
	{"-G", "ISO_IR 127", false},
	{"-H", "ISO_IR 138", false},
	{"-L", "ISO_IR 144", false},
	{"-M", "ISO_IR 148", false},
	{"-T", "ISO_IR 166", false},
	{"-b", "ISO_IR 203", false},
	{")I", "ISO_IR 13", false},
	{"(J", "ISO_IR 13", false},
	{"$B", "ISO 2022 IR 87", true},
	{"$(D", "ISO 2022 IR 159", true},
	{"$)C", "ISO 2022 IR 149", false},
	{"$)A", "ISO 2022 IR 58", false},
}

// characterSets are the sets that a value of Specific Character Set names.
func characterSets(value string) (sets []string) {
	for set := range strings.SplitSeq(value, `\`) {
		sets = append(sets, strings.Trim(set, " \x00"))
	}
	return sets
}

// decodeText returns a text of one or more values in UTF-8. What a set does not
// define becomes U+FFFD.
func decodeText(raw []byte, sets []string) string {
	first := "ISO_IR 6"
	if len(sets) > 0 && sets[0] != "" {
		first = strings.Replace(sets[0], "ISO 2022 IR", "ISO_IR", 1)
	}
	s := string(raw)
	if !strings.ContainsRune(s, escape) {
		return decodeIn(first, s)
	}
	var out strings.Builder
	for s != "" {
		n := 1 + strings.IndexByte(s[1:], escape)
		if n == 0 {
			n = len(s)
		}
		part := s[:n]
		s = s[n:]
		if part[0] != escape {
			out.WriteString(decodeIn(first, part))
			continue
		}
		out.WriteString(decodeEscaped(part, first))
	}
	return out.String()
}

// decodeEscaped decodes what begins with an escape sequence, as far as the next.
// A line or value that ends brings the first set back, except in the two-byte
// sets of G0, in which any byte may be half of a character.
func decodeEscaped(part, first string) string {
	for _, e := range escapes {
		text, ok := strings.CutPrefix(part[1:], e.sequence)
		if !ok {
			continue
		}
		if e.keep {
			return decodeIn(e.set, part)
		}
		if i := strings.IndexAny(text, "\\\r\n\f"); i >= 0 {
			return decodeIn(e.set, text[:i]) + decodeIn(first, text[i:])
		}
		return decodeIn(e.set, text)
	}
	return "\uFFFD" + decodeIn(first, part[1:])
}

// decodeIn decodes a text that is in one set throughout. The tables are those of
// the parser library, but for two that it lacks.
func decodeIn(set, s string) string {
	switch set {
	case "ISO_IR 166":
		return decodeBytes(s, thai)
	case "ISO_IR 203":
		return decodeBytes(s, latin9)
	}
	coding, err := charset.ParseSpecificCharacterSet([]string{set})
	if err != nil || coding.Alphabetic == nil {
		return strings.ToValidUTF8(s, "\uFFFD")
	}
	out, err := coding.Alphabetic.String(s)
	if err != nil {
		return strings.ToValidUTF8(s, "\uFFFD")
	}
	return out
}

func decodeBytes(s string, in func(byte) rune) string {
	var out strings.Builder
	for i := range len(s) {
		r := rune(s[i])
		if r >= 0x80 {
			r = in(s[i])
		}
		out.WriteRune(r)
	}
	return out.String()
}

// thai is TIS 620-2533, ISO-IR 166.
func thai(b byte) rune {
	if 0xA1 <= b && b <= 0xDA || 0xDF <= b && b <= 0xFB {
		return 0x0E01 + rune(b) - 0xA1
	}
	return '\uFFFD'
}

// latin9 is ISO/IEC 8859-15: ISO-IR 100 but for eight letters.
func latin9(b byte) rune {
	switch b {
	case 0xA4:
		return '€'
	case 0xA6:
		return 'Š'
	case 0xA8:
		return 'š'
	case 0xB4:
		return 'Ž'
	case 0xB8:
		return 'ž'
	case 0xBC:
		return 'Œ'
	case 0xBD:
		return 'œ'
	case 0xBE:
		return 'Ÿ'
	}
	return rune(b)
}
