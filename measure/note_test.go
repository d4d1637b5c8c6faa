package measure

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A note is the same after it was kept; one that came as a sentence is kept as one.
func TestNoteIsKept(t *testing.T) {
	for _, c := range []struct {
		name string
		note Note
		kept string
	}{
		{"nothing", Note{}, `""`},
		{"a code", Note{Code: "refusal.flat"}, `{"Code":"refusal.flat"}`},
		{"values", Note{Code: "rim.turn", Values: Values{"Degrees": 3.5, "Part": "cup"}}, `{"Code":"rim.turn","Values":{"Degrees":3.5,"Part":"cup"}}`},
		{"a note in a note", Note{Code: "a.b", Values: Values{"Why": Note{Code: "rim.turn", Values: Values{"Degrees": 3.5}}}},
			`{"Code":"a.b","Values":{"Why":{"Code":"rim.turn","Values":{"Degrees":3.5}}}}`},
		{"a sentence of before", Note{Text: `the "film" is flat`}, `"the \"film\" is flat"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			data, err := json.Marshal(c.note)
			require.NoError(t, err)
			assert.JSONEq(t, c.kept, string(data))
			again := Note{Code: "left", Values: Values{"over": 1.}}
			require.NoError(t, json.Unmarshal(data, &again))
			assert.Equal(t, c.note, again)
		})
	}
}

// A number that JSON has no form for keeps no reading from being saved.
func TestNoteOfNoNumberIsKept(t *testing.T) {
	n := Note{Code: "rim.turn", Values: Values{"Degrees": math.NaN(), "MM": math.Inf(1), "N": 1.}}
	data, err := json.Marshal(n)
	require.NoError(t, err)
	assert.JSONEq(t, `{"Code":"rim.turn","Values":{"Degrees":"NaN","MM":"+Inf","N":1}}`, string(data))
	assert.True(t, math.IsNaN(n.Values["Degrees"].(float64)), "the note itself stays")
}

func TestNoteThatCannotBeReadFails(t *testing.T) {
	for _, bad := range []string{`[]`, `3`, `{"Code":3}`, `{"Code":"a","Values":[]}`, `{"Code":"a","Values":{"Why":{"Code":1}}}`} {
		require.Error(t, json.Unmarshal([]byte(bad), new(Note)), bad)
	}
}

// What developers read of an error is its code and values.
func TestErrorsOfNotes(t *testing.T) {
	r := &Refusal{Reason: Note{Code: "refusal.small-film", Values: Values{"Width": 30., "Height": 20.}}}
	assert.EqualError(t, r, "measure: refused: refusal.small-film Height=20 Width=30")
	assert.EqualError(t, Fault("rim.flat", nil), "measure: rim.flat")
	assert.Equal(t, r.Reason, r.Says())
}
