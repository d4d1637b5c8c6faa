package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Visible writes text from files so that a terminal obeys none of it: characters that
// command it, or turn the direction of text, are written as \u001b is. Ends of lines and tabs
// pass. In JSON the result is the same text. Flush writes what ends in half a character.
type Visible struct {
	w    io.Writer
	rest []byte // the start of a character, or of a line's end
}

// NewVisible returns a writer of visible text to w.
func NewVisible(w io.Writer) *Visible { return &Visible{w: w} }

// Write implements io.Writer.
func (v *Visible) Write(p []byte) (int, error) {
	text := append(v.rest, p...)
	v.rest = nil
	var out bytes.Buffer
	for len(text) > 0 {
		if !utf8.FullRune(text) || (len(text) == 1 && text[0] == '\r') {
			v.rest = bytes.Clone(text)
			break
		}
		r, n := utf8.DecodeRune(text)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&out, `\x%02x`, text[0])
		case r == '\n' || r == '\t' || (r == '\r' && text[1] == '\n') || !commands(r):
			out.Write(text[:n])
		default:
			fmt.Fprintf(&out, `\u%04x`, r)
		}
		text = text[n:]
	}
	if _, err := v.w.Write(out.Bytes()); err != nil {
		return 0, err
	}
	return len(p), nil
}

// Flush writes half a character at the end.
func (v *Visible) Flush() error {
	rest := v.rest
	if v.rest = nil; rest == nil {
		return nil
	}
	_, err := io.WriteString(v.w, OneLine(string(rest)))
	return err
}

// commands says whether a character may command a terminal: controls, those that turn
// the direction of text, and other ends of lines.
func commands(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Bidi_Control, unicode.Zl, unicode.Zp)
}

// OneLine returns text as Visible writes it, with the ends of lines and tabs visible too.
func OneLine(s string) string {
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == utf8.RuneError && s[i] >= utf8.RuneSelf && !strings.HasPrefix(s[i:], string(utf8.RuneError)):
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case commands(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
