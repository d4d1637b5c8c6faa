package dataset

import (
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
)

// missing is the cell of a value that is not known or does not apply.
const missing = study.NotAvailable

// longestLabel is how many characters a label has at most, as Stata takes them.
const longestLabel = 80

// column is a column of a table. All that is told of it stands here alone; an empty cell is
// a value that is not known or does not apply.
type column[T any] struct {
	name  string
	label string // at most longestLabel characters
	how   string // it is computed, or what else is to be known
	unit  string
	kind  kind
	cell  func(T) string
}

// kind is what values a column has.
type kind struct {
	of      string         // a type of the Table Schema standard
	choices []study.Choice // all that there are; nil where they are not listed
	least   *float64
	most    *float64
	note    string // on the values
	tells   secret
}

// secret is what a column may tell of a person.
type secret int

const (
	nothing secret = iota
	aDate          // a day, which is told as days since surgery where dates are not to be told
	aTime          // when somebody worked
	prose          // a text that may name somebody or something
	anAge          // which is told up to mostAge alone
	ofSite
	ofPatient
	ofHip
	ofFilm
	ofReading // or several, joined by ;
	ofReader  // or several, joined by ;
)

// The kinds.
var (
	aNumber   = kind{of: "number"}
	aCount    = kind{of: "integer"}.from(0)
	yesNo     = kind{of: "boolean"}
	aDay      = kind{of: "date", tells: aDate}
	aMoment   = kind{of: "datetime", tells: aTime}
	aWord     = kind{of: "string"}
	words     = kind{of: "string", tells: prose, note: "text of the program"}
	freeText  = kind{of: "string", tells: prose, note: "text that somebody entered"}
	aName     = kind{of: "string", tells: prose, note: "may be a name"}
	aPatient  = kind{of: "string", tells: ofPatient, note: "code"}
	aSite     = kind{of: "string", tells: ofSite, note: "code"}
	aHip      = kind{of: "string", tells: ofHip, note: "code"}
	aFilm     = kind{of: "string", tells: ofFilm, note: "code"}
	aReading  = kind{of: "string", tells: ofReading, note: "code"}
	aReader   = kind{of: "string", tells: ofReader, note: "code"}
	daysSince = kind{of: "integer"}
)

func oneOf(choices []study.Choice) kind { return kind{of: "string", choices: choices} }

func sides() kind {
	return oneOf([]study.Choice{{Code: study.Right.String(), Words: "right hip"}, {Code: study.Left.String(), Words: "left hip"}})
}

func (k kind) from(v float64) kind { k.least = &v; return k }

func (k kind) to(v float64) kind { k.most = &v; return k }

func (k kind) with(note string) kind { k.note = note; return k }

// field is what a table, a codebook and a script tell of a column.
type field struct {
	name, label, how, unit string
	kind
}

// text reports whether the cells are texts, which are guarded.
func (k kind) text() bool { return k.of == "string" }

// values says in the codebook what a column may hold.
func (k kind) values() string {
	var out []string
	switch k.of {
	case "date":
		out = append(out, "YYYY-MM-DD")
	case "datetime":
		out = append(out, "YYYY-MM-DDThh:mm:ssZ")
	case "boolean":
		out = append(out, "0 no; 1 yes")
	}
	if k.least != nil {
		out = append(out, "from "+plain(*k.least))
	}
	if k.most != nil {
		out = append(out, "to "+plain(*k.most))
	}
	if k.note != "" {
		out = append(out, k.note)
	}
	for _, c := range k.choices {
		out = append(out, strings.TrimSpace(c.Code+" "+c.Words))
	}
	return strings.Join(out, "; ")
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// The cells of kinds of values.

// oneLine is a text without line ends and with single spaces.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// numberCell is a number with every digit, empty where it is not one.
func numberCell(v float64) string {
	if v-v != 0 { // NaN and infinities
		return ""
	}
	return plain(v)
}

// known is a number of which 0 means that it is not known.
func known(v float64) string {
	if v == 0 {
		return ""
	}
	return numberCell(v)
}

// positive is a number that is known where it is above 0.
func positive(v float64) string {
	if v > 0 {
		return numberCell(v)
	}
	return ""
}

func wholeCell(n int) string { return strconv.Itoa(n) }

func yes(b bool) string {
	if b {
		return "1"
	}
	return "0"
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

func when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

func joinedWords(list []study.Note, by string) string {
	return oneLine(strings.Join(study.NotesWords(list), by))
}
