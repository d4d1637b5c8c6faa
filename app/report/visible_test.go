package report

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names from files command no terminal, in whatever pieces they are written.
func TestVisible(t *testing.T) {
	text := "H1\x1b[2J\x07\u009b1m\u202eabc\u2028\x7f ä µ ± 漢\ttab\r\nlone \r cr\nbad \xff\x9b end\xe6"
	want := `H1\u001b[2J\u0007\u009b1m\u202eabc\u2028\u007f ä µ ± 漢` + "\ttab\r\n" + `lone \u000d cr` + "\n" + `bad \xff\x9b end\xe6`
	for _, size := range []int{1, 2, 3, 7, len(text)} {
		var b strings.Builder
		v := NewVisible(&b)
		for from := 0; from < len(text); from += size {
			part := text[from:min(from+size, len(text))]
			n, err := v.Write([]byte(part))
			require.NoError(t, err)
			require.Equal(t, len(part), n)
		}
		require.NoError(t, v.Flush())
		assert.Equal(t, want, b.String(), "%d bytes at a time", size)
	}
	assert.Equal(t, `a\u000ab\u0009c\xff�`, OneLine("a\nb\tc\xff�"))

	// JSON stays JSON, and the same.
	var b strings.Builder
	require.NoError(t, writeJSON(NewVisible(&b), "x\u009b\u202e\x1b"))
	var back string
	require.NoError(t, json.Unmarshal([]byte(b.String()), &back))
	assert.Equal(t, "x\u009b\u202e\x1b", back)
}

// A cell of a table for people is one line.
func TestGridKeepsRows(t *testing.T) {
	g := newGrid("<name", "n")
	g.add("a\nb", "1")
	var b strings.Builder
	require.NoError(t, g.write(&b))
	assert.Equal(t, "name      n\na\\u000ab  1\n", b.String())
}
