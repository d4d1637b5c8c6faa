package measure

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Note is something said by a code and named values, such as why a film is refused:
// numbers (float64), words that are codes or names (string), and Notes. Its sentence is
// not made here. Text is only of a note that came as a sentence: from an older study, or
// of a file that cannot be read. The zero value says nothing.
type Note struct {
	Code   string
	Values Values
	Text   string
}

// Values are what is said by name.
type Values map[string]any

// IsZero reports whether the note says nothing.
func (n Note) IsZero() bool { return n.Code == "" && n.Text == "" }

// String returns the code with the values in the order of their names, or the text.
func (n Note) String() string {
	var b strings.Builder
	b.WriteString(n.Code + n.Text)
	for _, k := range slices.Sorted(maps.Keys(n.Values)) {
		fmt.Fprintf(&b, " %s=%v", k, n.Values[k])
	}
	return b.String()
}

// keptNote is a note as it is kept.
type keptNote struct {
	Code   string
	Values Values `json:",omitempty"`
}

// MarshalJSON writes code and values, or the text as a string.
func (n Note) MarshalJSON() ([]byte, error) {
	if n.Code == "" {
		return json.Marshal(n.Text)
	}
	return json.Marshal(keptNote{n.Code, n.Values})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Note) UnmarshalJSON(data []byte) error {
	*n = Note{}
	if len(data) > 0 && data[0] == '"' {
		return json.Unmarshal(data, &n.Text)
	}
	var k keptNote
	err := json.Unmarshal(data, &k)
	n.Code, n.Values = k.Code, k.Values
	return err
}

// MarshalJSON writes the values, a number that JSON has no form for as a word.
func (v Values) MarshalJSON() ([]byte, error) {
	out := maps.Clone(map[string]any(v))
	for name, value := range out {
		if x, ok := value.(float64); ok && !Finite(x) {
			out[name] = fmt.Sprint(x)
		}
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads values; what is an object is a note.
func (v *Values) UnmarshalJSON(data []byte) error {
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(data, &raw); err != nil {
		return err
	}
	*v = Values{}
	for name, text := range raw {
		if text[0] == '{' {
			var n Note
			if err := json.Unmarshal(text, &n); err != nil {
				return err
			}
			(*v)[name] = n
			continue
		}
		var value any
		if err := json.Unmarshal(text, &value); err != nil {
			return err
		}
		(*v)[name] = value
	}
	return nil
}

// NoteError is an error that is told by a note.
type NoteError struct{ Note Note }

func (e *NoteError) Error() string { return "measure: " + e.Note.String() }

// Says returns the note.
func (e *NoteError) Says() Note { return e.Note }

// Fault is the error that is told by a code and its values.
func Fault(code string, v Values) error { return &NoteError{Note{Code: code, Values: v}} }
