package dicomio

import (
	"errors"

	"linerwatch/dicomio/codec"
)

// The two kinds of fault, for errors.Is: a file that breaks its own format, and
// a file that is in order but of a kind this package does not read.
var (
	ErrMalformed   = errors.New("malformed")
	ErrUnsupported = errors.New("unsupported")
)

// Fault is what is wrong with a film, or with what is asked of one, by a code and named
// values: numbers (float64), words (string), and errors.
type Fault struct {
	Code   string
	Values map[string]any
	text   string
	is     error // besides
}

func (e *Fault) Error() string {
	if e.text == "" { // made elsewhere
		return e.Code
	}
	return e.text
}

// Unwrap returns what the fault is besides: its kind, or the error it has among its values.
func (e *Fault) Unwrap() error { return e.is }

// Coded returns the code and the values.
func (e *Fault) Coded() (code string, values map[string]any) { return e.Code, e.Values }

// refused returns the fault of a code. Its text is format with the values, each of which
// comes after its name.
func refused(code, format string, values ...any) *Fault {
	e := &Fault{Code: code}
	for _, v := range values {
		if err, ok := v.(error); ok {
			e.is = err
		}
	}
	e.text, e.Values = codec.Named(format, values...)
	return e
}

// Refused is refused for the packages below this one.
func Refused(code, format string, values ...any) *Fault { return refused(code, format, values...) }

// malformed is refused of what breaks its own format.
func malformed(code, format string, values ...any) error {
	return broken(refused(code, format, values...))
}

// broken returns the fault of what breaks its own format.
func broken(why *Fault) error { return kind("read.malformed", ErrMalformed, why) }

// unsupported is refused of what is in order but not read.
func unsupported(code, format string, values ...any) error {
	return kind("read.unsupported", ErrUnsupported, refused(code, format, values...))
}

func kind(code string, is error, why *Fault) error {
	e := refused(code, is.Error()+": %s", "Why", why)
	e.is = is
	return e
}
