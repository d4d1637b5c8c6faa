package dicomio

import (
	"cmp"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// kind is what a file of a folder holds that is no film of a hip, "" for a film and for
// what only opening can tell; see passed for the words.
type fileKind struct {
	code string
	part string // the body part of a radiograph of another one
}

// classes are the storage classes of PS3.4 table B.5-1 that are no films, by the
// beginning of what follows imageStorage; the first that fits counts.
var classes = []struct{ start, code string }{
	{"2", "passed.ct"}, {"4", "passed.mr"}, {"3", "passed.us"}, {"6", "passed.us"}, {"20", "passed.nm"}, {"128", "passed.pet"},
	{"130", "passed.pet"}, {"481", "passed.rt"}, {"88", "passed.report"}, {"104", "passed.document"}, {"11", "passed.view"},
	{"1.2", "passed.mammogram"}, {"1.3", "passed.dental"}, {"77", "passed.photograph"}, {"9", "passed.curve"},
	{"66", "passed.made"}, {"67", "passed.made"}, {"68", "passed.made"}, {"13", "passed.slices"},
}

// maker is what this program calls itself in what it writes (0008,0070).
const maker = "Linerwatch"

const imageStorage = "1.2.840.10008.5.1.4.1.1."

// modalities are those of pictures kept as secondary captures that are no films (PS3.3
// C.7.3.1.1.1).
var modalities = map[string]string{
	"CT": "passed.ct", "MR": "passed.mr", "US": "passed.us", "NM": "passed.nm", "PT": "passed.pet",
	"MG": "passed.mammogram", "IO": "passed.dental", "PX": "passed.dental", "ES": "passed.photograph", "ECG": "passed.curve",
}

// otherParts are parts of the body (PS3.16 annex L) on whose radiographs no hip is.
var otherParts = []string{
	"ANKLE", "ARM", "BREAST", "CALCANEUS", "CHEST", "CLAVICLE", "CSPINE", "EAR", "ELBOW", "EYE", "FACE", "FINGER", "FOOT",
	"FOREARM", "HAND", "HEAD", "HEART", "HUMERUS", "JAW", "MAXILLA", "MANDIBLE", "NECK", "NOSE", "ORBIT", "RADIUS", "RIB",
	"SCAPULA", "SHOULDER", "SINUS", "SKULL", "STERNUM", "TEETH", "THUMB", "TOE", "TSPINE", "ULNA", "WRIST", "ZYGOMA",
}

// leastSide is the fewest rows and columns of a picture that may be a film though it is
// no radiograph by its class, a capture say: of a pelvis 350 mm wide, a pixel is then
// 3.5 mm, and a head of 28 mm eight pixels.
const leastSide = 100

// lookedAt are the elements that tell a film's kind.
var lookedAt = map[uint32]string{
	0x00080016: "UI", 0x00080060: "CS", 0x00080070: "LO", 0x00180015: "CS", 0x00280010: "US", 0x00280011: "US",
}

const (
	firstLook = 1 << 13 // bytes read first of a file that is looked at
	lastLook  = 0x00280011
)

// look tells what a DICOM file of size bytes that begins with b holds.
func look(b []byte, size int) (fileKind, error) {
	h, p, err := openHeader(b, size)
	if err != nil {
		return fileKind{}, err
	}
	if h.syntax.deflated {
		return fileKind{}, nil // opening it will tell
	}
	c := newClean(h.order)
	w := &walker{b: b, size: size, order: h.order, implicit: h.syntax.implicit}
	_, _, err = w.each(p, func(e head, next int) error {
		if vr, ok := lookedAt[e.tag]; ok {
			if err := c.addValue(w, e, next, vr, maxValue); err != nil {
				return err
			}
		}
		if e.tag >= lastLook {
			return io.EOF // all that is asked for has been seen
		}
		return nil
	})
	if err != nil && err != io.EOF {
		return fileKind{}, err
	}
	return h.kind(c), nil
}

func (h *header) kind(c *clean) fileKind {
	class, modality := cmp.Or(value(c.els[0x00080016]), h.class), value(c.els[0x00080060])
	if rest, ok := strings.CutPrefix(class, imageStorage); ok {
		if first, _, _ := strings.Cut(rest, "."); value(c.els[0x00080070]) == maker && slices.Contains([]string{"7", "88", "11"}, first) {
			return fileKind{code: "passed.own"}
		}
		for _, k := range classes {
			if rest == k.start || strings.HasPrefix(rest, k.start+".") {
				return fileKind{code: k.code}
			}
		}
		if rest == "7" || strings.HasPrefix(rest, "7.") {
			if code, ok := modalities[modality]; ok {
				return fileKind{code: code}
			}
		}
	}
	if part := value(c.els[0x00180015]); slices.Contains(otherParts, part) {
		return fileKind{"passed.part", part}
	}
	for _, t := range []uint32{0x00280010, 0x00280011} {
		if e := c.els[t]; !radiograph(class) && len(e) == 10 && int(binary.LittleEndian.Uint16(e[8:])) < leastSide {
			return fileKind{code: "passed.small"}
		}
	}
	return fileKind{}
}

// radiograph tells whether a storage class is that of computed or digital radiographs.
func radiograph(class string) bool {
	rest, _ := strings.CutPrefix(class, imageStorage)
	return rest == "1" || rest == "1.1" || rest == "1.1.1"
}

// kindOf looks into a file. film is false for what is no picture that is read at all;
// one that cannot be read, or breaks off, may be a film: opening it will tell.
func kindOf(path string) (k fileKind, film bool) {
	info, err := os.Stat(path)
	if err != nil {
		return k, true
	}
	if !info.Mode().IsRegular() {
		return k, false
	}
	f, err := os.Open(path)
	if err != nil {
		return k, true
	}
	defer f.Close() // only read from
	for n := firstLook; ; n *= 4 {
		b := make([]byte, min(int64(n), info.Size()))
		if _, err := f.ReadAt(b, 0); err != nil {
			return k, true
		}
		switch sniff(b) {
		case "DICOM":
		case "PNG", "TIFF", "JPEG", "JPEG 2000", "BMP":
			return k, true
		default:
			return k, filmName(path)
		}
		k, err := look(b, int(info.Size()))
		if !errors.Is(err, errMore) || n >= firstRead {
			return k, true
		}
	}
}

// IsResult reports whether a file is a result that this program has written for an archive:
// a report, a picture or a presentation state of a film.
func IsResult(path string) bool {
	k, _ := kindOf(path)
	return k.code == "passed.own"
}

// sorted parts files into those that may be films, in their order, and what is said of
// the others that are pictures or belong to some, by kind.
func sorted(paths []string) (films []string, passed []*Fault) {
	kinds, ok := make([]fileKind, len(paths)), make([]bool, len(paths))
	var wait sync.WaitGroup
	next := make(chan int)
	for range min(len(paths), 2*runtime.GOMAXPROCS(0)) { // a disc may be slow
		wait.Go(func() {
			for i := range next {
				kinds[i], ok[i] = kindOf(paths[i])
			}
		})
	}
	for i := range paths {
		next <- i
	}
	close(next)
	wait.Wait()
	count := map[fileKind]int{}
	for i, k := range kinds {
		switch {
		case !ok[i]:
		case k.code == "":
			films = append(films, paths[i])
		default:
			count[k]++
		}
	}
	for k, n := range count {
		passed = append(passed, k.said(n))
	}
	slices.SortFunc(passed, func(a, b *Fault) int { return cmp.Compare(a.text, b.text) })
	return films, passed
}

// said is what is told of n files of a kind.
func (k fileKind) said(n int) *Fault {
	switch k.code {
	case "passed.ct":
		return refused("passed.ct", "%d CT slices", "N", n)
	case "passed.mr":
		return refused("passed.mr", "%d MR slices", "N", n)
	case "passed.us":
		return refused("passed.us", "%d ultrasound pictures", "N", n)
	case "passed.nm":
		return refused("passed.nm", "%d nuclear medicine pictures", "N", n)
	case "passed.pet":
		return refused("passed.pet", "%d PET slices", "N", n)
	case "passed.rt":
		return refused("passed.rt", "%d radiotherapy objects", "N", n)
	case "passed.report":
		return refused("passed.report", "%d structured reports", "N", n)
	case "passed.document":
		return refused("passed.document", "%d documents", "N", n)
	case "passed.view":
		return refused("passed.view", "%d presentation states", "N", n)
	case "passed.mammogram":
		return refused("passed.mammogram", "%d mammograms", "N", n)
	case "passed.dental":
		return refused("passed.dental", "%d dental films", "N", n)
	case "passed.photograph":
		return refused("passed.photograph", "%d photographs", "N", n)
	case "passed.curve":
		return refused("passed.curve", "%d waveforms", "N", n)
	case "passed.own":
		return refused("passed.own", "%d results of this program", "N", n)
	case "passed.slices":
		return refused("passed.slices", "%d tomosynthesis slices", "N", n)
	case "passed.small":
		return refused("passed.small", "%d pictures of fewer than %d rows or columns", "N", n, "Least", leastSide)
	case "passed.part":
		return refused("passed.part", "%d radiographs of another part of the body (%s)", "N", n, "Part", k.part)
	}
	return refused("passed.made", "%d objects made of other pictures", "N", n)
}
