package dicomio

import (
	"strings"
	"unicode"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Way is how the rays pass through the patient.
type Way string

// The ways. The zero value is not stated.
const (
	Frontal   Way = "frontal" // AP or PA: both show the same plane
	Sideways  Way = "lateral"
	Oblique   Way = "oblique"
	Axial     Way = "axial" // or frog-leg
	Decubitus Way = "decubitus"
	OtherWay  Way = "other" // stated in a word or code that is not known here
)

// Viewed is a statement of a file on how its film was taken.
type Viewed struct {
	By   string // attribute
	Said string
	Way  Way
}

// Shown is a statement of a file on the part of the body that its film shows.
type Shown struct {
	By   string // attribute
	Said string
	Hip  bool // a hip or the pelvis
}

// positions are the defined terms of View Position (PS3.3 C.8.1.1) other than those that are
// words, too.
var positions = map[string]Way{
	"LL": Sideways, "RL": Sideways, "RLO": Oblique, "LLO": Oblique, "LPO": Oblique, "RPO": Oblique, "LAO": Oblique, "RAO": Oblique,
	"RLD": Decubitus, "LLD": Decubitus,
}

// viewCodeWays are codes of PS3.16 CID 4010, in SNOMED CT and in the older form that files
// hold (PS3.16 annex O). Codes of heads and feet are not among them.
var viewCodeWays = map[string]Way{
	"399348003": Frontal, "R-10206": Frontal, // antero-posterior
	"272479007": Frontal, "R-40888": Frontal, "R-10214": Frontal, // postero-anterior
	"399033003": Frontal, "R-10202": Frontal,
	"399067008": Sideways, "R-102CD": Sideways,
	"399173006": Sideways, "R-10236": Sideways, // left
	"399198007": Sideways, "R-10232": Sideways, // right
	"399352003": Sideways, "R-10228": Sideways, // lateral-medial
	"399260004": Sideways, "R-10224": Sideways, // medial-lateral
	"30730003": Sideways, "G-A145": Sideways, // sagittal
	"399182000": Oblique, "R-102C1": Oblique,
	"399312000": Oblique, "R-10208": Oblique, // antero-posterior
	"399059000": Oblique, "R-10216": Oblique, // postero-anterior
	"399160007": Oblique, "R-10204": Oblique, // frontal
	"260427002": Oblique, "R-40783": Oblique, // lateral
	"260426006": Oblique, "R-40782": Oblique, // medial
	"399099002": Oblique, "R-10230": Oblique, // latero-medial
	"399368009": Oblique, "R-10226": Oblique, // medio-lateral
	"399184004": Oblique, "R-10238": Oblique, // left
	"399236003": Oblique, "R-10234": Oblique, // right
	"399135007": Oblique, "R-10220": Oblique, // left anterior
	"399006002": Oblique, "R-10212": Oblique, // left posterior
	"399356000": Oblique, "R-40985": Oblique, // right anterior
	"399038007": Oblique, "R-10210": Oblique, // right posterior
	"399110001": Oblique, "R-102C2": Oblique, // tangential
	"399061009": Axial, "R-10241": Axial,
	"399004004": Axial, "R-10246": Axial, // oblique
	"399132005": Axial, "R-10252": Axial, // frontal-oblique
	"399325008": Axial, "R-10254": Axial, // sagittal-oblique
	"399162004": Axial, "R-10242": Axial, // cranio-caudal
	"399196006": Axial, "R-10244": Axial, // caudo-cranial
}

// viewWords are words of descriptions and code meanings; common practice, no source. Of
// several the first row that has one counts.
var viewWords = []struct {
	way   Way
	words string
}{
	{Axial, "AXIAL AX AXIOLATERAL FROG FROGLEG FROGLATERAL LAUENSTEIN DUNN"},
	{Decubitus, "DECUBITUS DECUB"},
	{Oblique, "OBLIQUE OBL JUDET INLET OUTLET ALA OBTURATOR"},
	{Sideways, "LATERAL LAT CROSSTABLE XTABLE SEITLICH PROFIL"},
}

// frontalWords are those of a film from front or back.
const frontalWords = "AP PA ANTEROPOSTERIOR POSTEROANTERIOR FRONTAL"

// hipWords begin words for the hip and the pelvis, in some languages.
var hipWords = []string{"HIP", "PELV", "HUEFT", "HÜFT", "HUFT", "BECKEN", "HANCHE", "BASSIN", "CADERA", "ANCA", "BACINO", "HEUP", "BEKKEN", "QUADRIL", "BACIA"}

// hipCodes are codes for the hip, its joint and the pelvis, of PS3.16 CID 4009 and annex L.
var hipCodes = []string{"29836001", "T-D2500", "24136001", "T-15710", "12921003", "T-D6000", "416631005", "R-FAB58"}

// split returns the words of a text, "A.P." and "antero-posterior" as one.
func split(s string) []string {
	s = strings.NewReplacer(".", "", "ANTERO-P", "ANTEROP", "POSTERO-A", "POSTEROA").Replace(strings.ToUpper(s))
	return strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) })
}

// wayOf returns the way that a text names, "" where it names none, or two.
func wayOf(s string) Way {
	front, way := false, Way("")
	has := func(list, word string) bool { return strings.Contains(" "+list+" ", " "+word+" ") }
	for _, word := range split(s) {
		front = front || has(frontalWords, word)
	}
	for _, row := range viewWords {
		for _, word := range split(s) {
			if way == "" && has(row.words, word) {
				way = row.way
			}
		}
	}
	switch {
	case !front:
		return way
	case way == "":
		return Frontal
	}
	return ""
}

// ofHip reports whether a text names the hip or the pelvis.
func ofHip(s string) bool {
	for _, word := range split(s) {
		for _, begin := range hipWords {
			if strings.HasPrefix(word, begin) {
				return true
			}
		}
	}
	return false
}

// views reads every place but View Position where a file says how its film was taken, and of what. What a
// description does not say plainly is left out, and so is what only goes with a view: the
// description of a whole study, and directions in the plane of the film, unless nothing else is said.
func (h *header) views(f *Film) {
	add := func(t tag.Tag, said string, way Way) {
		if said != "" && way != "" {
			f.Views = append(f.Views, Viewed{name(t), printable(said), way})
		}
	}
	for _, code := range h.items(tag.ViewCodeSequence) {
		add(tag.ViewCodeSequence, code.spoken(), code.way())
	}
	plane := f.plane()
	if plane != Frontal {
		add(tag.PatientOrientation, strings.Join(f.Orientation[:], `\`), plane)
	}
	for _, t := range []tag.Tag{tag.SeriesDescription, tag.ProtocolName} {
		add(t, h.str(t), wayOf(h.str(t)))
	}
	if len(f.stated()) == 0 {
		add(tag.StudyDescription, h.str(tag.StudyDescription), wayOf(h.str(tag.StudyDescription)))
	}
	if len(f.stated()) == 0 {
		add(tag.PatientOrientation, strings.Join(f.Orientation[:], `\`), plane)
	}
	h.parts(f)
}

// parts reads what part of the body a film shows.
func (h *header) parts(f *Film) {
	if s := h.str(tag.BodyPartExamined); s != "" {
		f.Parts = append(f.Parts, Shown{name(tag.BodyPartExamined), printable(s), ofHip(s)})
	}
	for _, code := range h.items(tag.AnatomicRegionSequence) {
		if s := code.spoken(); s != "" {
			hip := ofHip(s)
			for _, known := range hipCodes {
				hip = hip || code.str(tag.CodeValue) == known
			}
			f.Parts = append(f.Parts, Shown{name(tag.AnatomicRegionSequence), printable(s), hip})
		}
	}
}

// positionWay returns what a View Position stands for.
func positionWay(s string) Way {
	if way, ok := positions[strings.Join(split(s), "")]; ok {
		return way
	}
	if way := wayOf(s); way != "" {
		return way
	}
	return OtherWay
}

// way returns what a code of a view stands for, by its modifiers where they say more.
func (h *header) way() Way {
	for _, modifier := range h.items(tag.ViewModifierCodeSequence) {
		if way := wayOf(modifier.str(tag.CodeMeaning)); way != "" && way != Frontal {
			return way
		}
	}
	if way, ok := viewCodeWays[h.str(tag.CodeValue)]; ok {
		return way
	}
	if way := wayOf(h.str(tag.CodeMeaning)); way != "" {
		return way
	}
	return OtherWay
}

// spoken returns a code's meaning and value.
func (h *header) spoken() string {
	return strings.TrimSpace(h.str(tag.CodeMeaning) + " " + strings.TrimSpace(h.str(tag.CodingSchemeDesignator)+" "+h.str(tag.CodeValue)))
}

// plane returns the way in which directions of rows and columns are seen, "" where they are
// not stated.
func (f *Film) plane() Way {
	if f.Orientation[0] == "" || f.Orientation[1] == "" {
		return ""
	}
	along := func(s string) int { return strings.IndexByte("LRAPHF", s[0]) / 2 } // 0 across, 1 from front to back, 2 lengthwise
	a, b := along(f.Orientation[0]), along(f.Orientation[1])
	if strings.IndexByte("LRAPHF", f.Orientation[0][0]) < 0 || strings.IndexByte("LRAPHF", f.Orientation[1][0]) < 0 || a == b {
		return ""
	}
	return [...]Way{Axial, Frontal, Sideways}[a+b-1]
}

// stated are all statements of how the film was taken.
func (f *Film) stated() []Viewed {
	if f.View == "" {
		return f.Views
	}
	return append([]Viewed{{name(tag.ViewPosition), f.View, positionWay(f.View)}}, f.Views...)
}

// Projection returns how the film was taken by all that its file says; "" where it says
// nothing or contradicts itself. why is what keeps it from being taken for a film of a hip
// without a reader's word, nil where nothing does.
func (f *Film) Projection() (way Way, why *Fault) {
	var by Viewed
	for _, v := range f.stated() {
		switch {
		case by.Way == "" || by.Way == OtherWay:
			by = v
		case v.Way != OtherWay && v.Way != by.Way:
			return "", refused("view.contradicts", "%s says %q, %s %q", "Element", by.By, "Said", by.Said, "Other", v.By, "OtherSaid", v.Said)
		}
	}
	switch by.Way {
	case "", Frontal, Sideways:
		if why := f.misoriented(by.Way); why != nil {
			return by.Way, why
		}
		return by.Way, f.elsewhere()
	case OtherWay:
		return by.Way, refused("view.unknown", "%s says %q, which is neither AP nor PA", "Element", by.By, "Said", by.Said)
	}
	return by.Way, refused("view.stated", "%s says %q: %v", "Element", by.By, "Said", by.Said, "View", by.Way.fault())
}

// misoriented says of a film that is no lateral one that it is not known how it lies, by a
// Patient Orientation that means nothing or is aslant; nil where it is, or is not stated. A
// direction that has a second letter is up to half a right angle off the first (PS3.3 C.7.6.1.1.1),
// as no superior of a hip may be.
func (f *Film) misoriented(way Way) *Fault {
	o := f.Orientation
	if rows, columns, ok := strings.Cut(f.Turned, `\`); ok {
		o = [2]string{rows, columns}
	}
	if way == Sideways || o[0] == "" || o[1] == "" {
		return nil
	}
	said := strings.Join(o[:], `\`)
	if strings.Trim(o[0]+o[1], "LRAPHF") != "" {
		return nil // no directions
	}
	if f.plane() == "" {
		return refused("view.no-plane", "%s says %q, which are no two directions of a film", "Element", name(tag.PatientOrientation), "Said", printable(said))
	}
	if len(o[0]) > 1 || len(o[1]) > 1 {
		return refused("view.aslant", "%s says %q: rows and columns do not run along the patient or across", "Element", name(tag.PatientOrientation), "Said", printable(said))
	}
	return nil
}

// fault names a way that is not read.
func (w Way) fault() *Fault {
	switch w {
	case Oblique:
		return refused("view.oblique", "oblique")
	case Decubitus:
		return refused("view.decubitus", "decubitus")
	}
	return refused("view.axial", "axial or frog-leg")
}

// elsewhere says that the file names other parts of the body than hip and pelvis, nil where
// it does not.
func (f *Film) elsewhere() *Fault {
	for _, p := range f.Parts {
		if p.Hip {
			return nil
		}
	}
	if len(f.Parts) == 0 {
		return nil
	}
	return refused("view.elsewhere", "%s says %q, neither hip nor pelvis", "Element", f.Parts[0].By, "Said", f.Parts[0].Said)
}
