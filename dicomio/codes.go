package dicomio

import (
	_ "embed"
	"strings"
	"sync"
)

//go:embed codes.tsv
var codesText string

// meanings are the codes that are kept, by scheme and value, with what they mean.
var meanings = sync.OnceValue(func() map[[2]string]string {
	out := map[[2]string]string{}
	for line := range strings.Lines(codesText) {
		if f := strings.Split(strings.TrimSpace(line), "\t"); len(f) == 3 {
			out[[2]string{f[0], f[1]}] = f[2]
		}
	}
	return out
})

// schemes are the schemes of codes that are kept, by the designators they go under:
// SNM3 and SRT are one.
var schemes = map[string]string{"SCT": "SCT", "SRT": "SRT", "SNM3": "SRT", "DCM": "DCM"}

// codes keeps the items of a code sequence whose code is known. Its meaning is
// written as the scheme has it, whatever the file calls it.
func (k *keeper) codes(w *walker, e head, next int) error {
	if e.vr != "" && e.vr != "SQ" && e.vr != "UN" {
		return malformed("read.representation", "%s has the value representation %s", "Element", tagName(e.tag), "VR", e.vr)
	}
	var items []byte
	err := w.items(e, next, func(item head, end int) (int, error) {
		c := newClean(w.order)
		c.sets = k.h.sets
		p, err := c.addItem(w, item, end, w.implicit || e.vr == "UN", codedItems)
		if err == nil {
			if known := k.knownCode(e.tag, value(c.els[0x00080102]), value(c.els[0x00080100])); known != nil {
				items = appendItem(items, known)
			}
		}
		return p, err
	})
	if err != nil {
		return refused("read.in", "%v in %s", "Why", err, "Element", tagName(e.tag))
	}
	if items != nil {
		k.els[e.tag] = appendElement(nil, e.tag, "SQ", items)
	}
	return nil
}

// knownCode encodes a code of the element t with its meaning, nil where it is not known.
func (k *keeper) knownCode(t uint32, scheme, code string) []byte {
	meaning, ok := meanings()[[2]string{schemes[scheme], code}]
	if !ok {
		k.warn("identity.not-code", "%s has a code that is not known here and was left out", "Element", tagName(t))
		return nil
	}
	return codeItem(code, scheme, meaning)
}

// codeItem encodes one code.
func codeItem(code, scheme, meaning string) []byte {
	b := appendElement(nil, 0x00080100, "SH", []byte(code))
	b = appendElement(b, 0x00080102, "SH", []byte(scheme))
	return appendElement(b, 0x00080104, "LO", []byte(meaning))
}

// value is the value of an encoded element with a short length, without padding.
func value(element []byte) string {
	if len(element) < 8 {
		return ""
	}
	return strings.TrimRight(string(element[8:]), " \x00")
}
