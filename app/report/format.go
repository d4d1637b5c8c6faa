package report

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"linerwatch/app/study"
)

// Format is a way to write results.
type Format string

// The formats.
const (
	Table Format = "table" // aligned columns for people
	JSON  Format = "json"
	CSV   Format = "csv" // RFC 4180
)

// ParseFormat reads the name of a format.
func ParseFormat(s string) (Format, error) {
	switch f := Format(s); f {
	case Table, JSON, CSV:
		return f, nil
	}
	return "", fmt.Errorf("report: format %q is not table, json or csv", s)
}

// num is a number that may not exist: NaN and infinities are null in JSON and
// empty in CSV.
type num float64

// none is the number that does not exist.
var none = num(math.NaN())

func (n num) exists() bool {
	return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0)
}

// MarshalJSON writes n with every digit, or null.
func (n num) MarshalJSON() ([]byte, error) {
	if !n.exists() {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(n), 'f', -1, 64), nil
}

// cell returns n with every digit, or nothing.
func (n num) cell() string {
	if !n.exists() {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'f', -1, 64)
}

// positive returns v, or none where v is not above zero.
func positive(v float64) num {
	if v > 0 {
		return num(v)
	}
	return none
}

// text returns nil for an empty string, so that JSON shows null.
func text(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// list returns s, never nil, so that JSON shows an empty list.
func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

// Decimals returns how many decimals a value with standard error se supports:
// two significant digits of se, and never more than four decimals.
func Decimals(se float64) int {
	if !(se > 0) || math.IsInf(se, 0) {
		return 3
	}
	d := 1 - int(math.Floor(math.Log10(se)))
	return min(max(d, 0), 4)
}

// column rounds the values of one table column alike, by the median of their
// standard errors.
type column struct{ decimals int }

func columnFor(ses []float64) column {
	var s []float64
	for _, v := range ses {
		if v > 0 {
			s = append(s, v)
		}
	}
	if len(s) == 0 {
		return column{3}
	}
	slices.Sort(s)
	return column{Decimals(s[len(s)/2])}
}

func (c column) value(v float64) string {
	if !num(v).exists() {
		return "-"
	}
	return unsignZero(strconv.FormatFloat(v, 'f', c.decimals, 64))
}

func (c column) withSE(v, se float64) string {
	if !num(v).exists() {
		return "-"
	}
	if !(se > 0) {
		return c.value(v)
	}
	return c.value(v) + " ±" + c.value(se)
}

// unsignZero turns "-0.00" into "0.00".
func unsignZero(s string) string {
	if v, err := strconv.ParseFloat(s, 64); err == nil && v == 0 && s[0] == '-' {
		return s[1:]
	}
	return s
}

// shortNames returns base names where they tell the films apart, else paths.
func shortNames(films []study.Film) func(study.Film) string {
	path := map[string]string{}
	unique := true
	for _, f := range films {
		base := filepath.Base(f.Path)
		if p, ok := path[base]; ok && p != f.Path {
			unique = false
		}
		path[base] = f.Path
	}
	return func(f study.Film) string {
		if unique {
			return filepath.Base(f.Path)
		}
		return f.Path
	}
}

// years writes "1 year" or "1.5 years".
func years(v float64) string {
	if v == 1 {
		return "1 year"
	}
	return strconv.FormatFloat(v, 'g', -1, 64) + " years"
}

// Latest stands for the latest reading of each film, whoever made it.
const Latest = "latest"

// WhoseCode is the code of a rule by which readings count.
func WhoseCode(rule study.Rule) string { return study.RuleCode(rule) }

func yes(b bool) string {
	if b {
		return "1"
	}
	return "0"
}
