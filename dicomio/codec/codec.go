package codec

import (
	"errors"
	"fmt"
	"reflect"
)

// The two kinds of fault, for errors.Is: data that break their own format, and
// data that are in order but of a kind the decoder does not read.
var (
	ErrMalformed   = errors.New("malformed")
	ErrUnsupported = errors.New("unsupported")
)

// Fault is what is wrong with data, by a code and named values: numbers (float64) and words
// (string). Reason says it in English, and Kind is ErrMalformed or ErrUnsupported.
type Fault struct {
	Code   string
	Values map[string]any
	Reason string
	Kind   error
}

func (f *Fault) Error() string { return f.Reason + ": " + f.Kind.Error() }

func (f *Fault) Unwrap() error { return f.Kind }

// Malformed returns the fault of data that break their format: its code, and its reason as
// a format with the values, each of which comes after its name.
func Malformed(code, format string, values ...any) error {
	return fault(ErrMalformed, code, format, values)
}

// Unsupported is Malformed of data that are in order and not read.
func Unsupported(code, format string, values ...any) error {
	return fault(ErrUnsupported, code, format, values)
}

func fault(kind error, code, format string, values []any) error {
	reason, named := Named(format, values...)
	return &Fault{code, named, reason, kind}
}

// Named returns a format filled with values, each of which comes after its name, and the
// values by name: numbers as float64, errors as they are, the rest as words.
func Named(format string, values ...any) (text string, named map[string]any) {
	named = map[string]any{}
	var said []any
	for i := 0; i+1 < len(values); i += 2 {
		named[values[i].(string)] = valueOf(values[i+1])
		said = append(said, values[i+1])
	}
	return fmt.Sprintf(format, said...), named
}

func valueOf(v any) any {
	if err, ok := v.(error); ok {
		return err
	}
	switch r := reflect.ValueOf(v); {
	case r.CanInt():
		return float64(r.Int())
	case r.CanUint():
		return float64(r.Uint())
	case r.CanFloat():
		return r.Float()
	}
	return fmt.Sprintf("%s", v)
}

// Hex writes a marker or selector as the standards do, in digits of base 16.
func Hex[N byte | uint16 | int](n N, digits int) string { return fmt.Sprintf("%0*X", digits, n) }

// Size is what the file's header declares of one frame.
type Size struct {
	Rows, Columns int
	Bits          int // bits allocated to a sample, 1 to 16
}

// Check tells whether the size is one a decoder can be asked for.
func (s Size) Check() error {
	if s.Rows < 1 || s.Columns < 1 || s.Rows > MaxSide || s.Columns > MaxSide {
		return Malformed("codec.size", "%d x %d pixels declared", "Columns", s.Columns, "Rows", s.Rows)
	}
	if s.Rows*s.Columns > MaxPixels {
		return Unsupported("codec.large", "%d x %d pixels are more than %d", "Columns", s.Columns, "Rows", s.Rows, "Most", MaxPixels)
	}
	if s.Bits < 1 || s.Bits > 16 {
		return Unsupported("codec.allocated", "%d bits allocated", "Bits", s.Bits)
	}
	return nil
}

// CheckData tells whether n bytes can hold so many pixels in a code without a
// least length per pixel. Up to 2^25 pixels always pass; beyond, a byte may
// stand for 2^16 pixels at most. (A black film of 3000 x 3000 takes 187 bytes in
// JPEG 2000 by OpenJPEG 2.5.0, 48,000 pixels to the byte.)
func (s Size) CheckData(n int) error {
	if s.Pixels() > 1<<25 && s.Pixels()>>16 > n {
		return Malformed("codec.dense", "%d x %d pixels in %d bytes", "Columns", s.Columns, "Rows", s.Rows, "Bytes", n)
	}
	return nil
}

// Pixels is the number of samples of the frame.
func (s Size) Pixels() int { return s.Rows * s.Columns }

// Info is what the codestream says of its samples.
type Info struct {
	Bits   int  // precision of a sample
	Signed bool // samples are two's complement, extended to 16 bits
	Lossy  bool // the coding does not give back the original values

	Progressive bool // JPEG in several scans, which DICOM has retired
}
