package study

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCodes(t *testing.T) {
	for _, c := range []struct {
		code, fault string
		name        bool
	}{
		{"Q7-031", "", false},
		{"T1", "", false},
		{"arm B", "", false},
		{"P 017", "", false},
		{"Doe^Jane", `"Doe^Jane" is written as a person's name; enter a code`, true},
		{"Doe, Jane", "", true},
		{"Jane O'Doe", "", true},
		{"na", `"na" means a missing value in tables; enter another code`, false},
	} {
		assert.Equal(t, c.fault, NoteWords(CodeFault(c.code)), c.code)
		assert.Equal(t, c.name, LooksLikeName(c.code), c.code)
	}
}
