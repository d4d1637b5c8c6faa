package roster

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"linerwatch/app/study"
)

// readCSV reads comma- or semicolon- or tab-separated text (RFC 4180 but for the separator),
// UTF-8 with or without a mark. What is no UTF-8 is taken for Windows-1252, which holds
// ISO 8859-1's letters, and that is told.
func (s *Sheet) readCSV(b []byte) error {
	if bytes.HasPrefix(b, []byte("\xff\xfe")) || bytes.HasPrefix(b, []byte("\xfe\xff")) {
		return study.NewError("table.utf16", nil)
	}
	if bytes.IndexByte(b, 0) >= 0 {
		return study.NewError("sheet.binary", nil)
	}
	b = bytes.TrimPrefix(b, []byte("\ufeff"))
	if !utf8.Valid(b) {
		var err error
		if b, err = charmap.Windows1252.NewDecoder().Bytes(b); err != nil {
			return err
		}
		s.Notes = append(s.Notes, study.Note{Code: "sheet.latin", Values: study.Values{"File": s.File}})
	}
	r := csv.NewReader(bytes.NewReader(b))
	r.Comma, r.FieldsPerRecord = separator(b), -1
	for {
		fields, err := r.Read()
		var no *csv.ParseError
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.As(err, &no):
			return study.NewError("sheet.quotes", study.Values{"Line": float64(no.Line)})
		case err != nil:
			return err
		}
		line, _ := r.FieldPos(0)
		cells := make([]Cell, len(fields))
		for i, f := range fields {
			cells[i].Text = f
		}
		s.take(line, cells)
	}
}

// separator is what stands most often outside quotes in the header.
func separator(b []byte) rune {
	count, quoted := map[byte]int{}, false
	for _, c := range bytes.TrimLeft(b, "\r\n") {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\n':
			return most(count)
		default:
			count[c]++
		}
	}
	return most(count)
}

func most(count map[byte]int) rune {
	best := byte(',')
	for _, c := range []byte{';', '\t'} {
		if count[c] > count[best] {
			best = c
		}
	}
	return rune(best)
}
