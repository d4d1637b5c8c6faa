package study

import (
	"math"
	"strconv"
	"strings"
)

// ParseNumber reads a number that somebody wrote, with a point or one comma in its place; ok is
// false of what is none, or not finite.
func ParseNumber(text string) (v float64, ok bool) {
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	if strings.Trim(text, "+-.0123456789eE") != "" { // no hexadecimal, no NaN, no underscores
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0)
}
