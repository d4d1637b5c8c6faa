package study

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseNumber(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
		ok   bool
	}{
		{"28", 28, true}, {"0.5", 0.5, true}, {"0,5", 0.5, true}, {"-1,25", -1.25, true}, {"1e-3", 0.001, true},
		{"", 0, false}, {"1,2,3", 0, false}, {"1.234,5", 0, false}, {"1,234.5", 0, false}, {"0x1p4", 0, false},
		{"NaN", 0, false}, {"Inf", 0, false}, {"1e999", 0, false}, {"1_000", 0, false}, {"28 mm", 0, false},
	} {
		v, ok := ParseNumber(c.text)
		require.Equal(t, c.ok, ok, c.text)
		if ok {
			require.Equal(t, c.want, v, c.text)
		}
	}
}
