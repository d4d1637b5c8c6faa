package study

import (
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// Note is something said by a code and named values; its sentence is that of NoteWords.
type (
	Note   = measure.Note
	Values = measure.Values // of a note
)

// Say says a text by its key and values: texts.Say in the language of the program, or the
// Say of a texts.Speech.
type Say = func(key string, v texts.Values) string

// NoteWords returns the sentence of a note; where it came as one, that as it stands.
func NoteWords(n Note) string { return NoteIn(texts.Say, n) }

// Sentence returns the words of a key; values come as name and value, a count as a whole number.
func Sentence(key string, values ...any) string {
	v := Values{}
	for i := 0; i+1 < len(values); i += 2 {
		v[values[i].(string)] = values[i+1]
		if n, ok := values[i+1].(int); ok {
			v[values[i].(string)] = float64(n)
		}
	}
	return NoteWords(Note{Code: key, Values: v})
}

// NoteIn is NoteWords in the language of say.
func NoteIn(say Say, n Note) string {
	if n.Code == "" {
		return n.Text
	}
	return say(n.Code, spokenIn(say, n.Values))
}

// spoken returns values with the words of those that are notes.
func spoken(v texts.Values) texts.Values { return spokenIn(texts.Say, v) }

func spokenIn(say Say, v texts.Values) texts.Values {
	out := maps.Clone(v)
	for name, value := range v {
		if n, ok := value.(Note); ok {
			out[name] = NoteIn(say, n)
		}
	}
	return out
}

// NotesWords returns the sentences of notes.
func NotesWords(list []Note) []string {
	out := make([]string, 0, len(list))
	for _, n := range list {
		out = append(out, NoteWords(n))
	}
	return out
}

// PassedWords says what was passed over among films, by kind.
func PassedWords(passed []Note) string { return PassedIn(texts.Say, passed) }

// PassedIn is PassedWords in the language of say.
func PassedIn(say Say, passed []Note) string {
	words := make([]string, len(passed))
	for i, n := range passed {
		words[i] = NoteIn(say, n)
	}
	return strings.Join(words, ", ")
}

// NoteOf returns what is said of an error: its note where it is told by one, else its
// text. There is nothing to say of nil.
func NoteOf(err error) Note {
	if n, ok := says(err); ok {
		return n
	}
	return Note{Text: Told(err)}
}

// coded is an error of a package that knows no notes.
type coded interface {
	Coded() (code string, values map[string]any)
}

// says returns the note that an error is told by.
func says(err error) (Note, bool) {
	switch e := err.(type) {
	case interface{ Says() Note }:
		return e.Says(), true
	case coded:
		code, values := e.Coded()
		return Note{Code: code, Values: noted(values)}, true
	}
	return fitNote(err)
}

// noted returns values with the notes of those that are errors.
func noted(v Values) Values {
	out := maps.Clone(v)
	for name, value := range v {
		if err, ok := value.(error); ok {
			out[name] = NoteOf(err)
		}
	}
	return out
}

// listed is a note that says one after the other, without those that say nothing.
func listed(notes []Note) Note {
	notes = slices.DeleteFunc(notes, Note.IsZero)
	switch len(notes) {
	case 0:
		return Note{}
	case 1:
		return notes[0]
	}
	return Note{Code: "list.more", Values: texts.Values{"One": notes[0], "More": listed(notes[1:])}}
}

// NoteError is an error that is told by a note. Err is what it is besides, or nil.
type NoteError struct {
	Note Note
	Err  error
}

func (e *NoteError) Error() string { return "study: " + e.Note.String() }

// Unwrap returns what the error is besides.
func (e *NoteError) Unwrap() error { return e.Err }

// Says returns the note.
func (e *NoteError) Says() Note { return e.Note }

// NewError returns the error that is told by a code and its values.
func NewError(code string, v Values) error { return &NoteError{Note: Note{Code: code, Values: v}} }

// WrapError is NewError of an error that is err, too.
func WrapError(err error, code string, v Values) error {
	return &NoteError{Note{Code: code, Values: v}, err}
}

// Capital returns a sentence with its first letter as a capital.
func Capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}
