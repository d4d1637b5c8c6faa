// Package papertest reads what package paper has written, for tests: it knows that form of
// PDF alone.
package papertest

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf16"
)

var stream = regexp.MustCompile(`(?s)/Filter /FlateDecode /Length \d+>>\nstream\n(.*?)\nendstream`)

// Pages returns the text of each page: the lines in the order in which they were written.
func Pages(pdf []byte) (pages []string, err error) {
	for _, m := range stream.FindAllSubmatch(pdf, -1) {
		z, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			return nil, fmt.Errorf("papertest: %w", err)
		}
		content, err := io.ReadAll(z)
		if err != nil {
			return nil, fmt.Errorf("papertest: %w", err)
		}
		if bytes.Contains(content, []byte("BT ")) {
			pages = append(pages, strings.Join(lines(content), "\n"))
		}
	}
	return pages, nil
}

// lines are the strings that a page shows, of two bytes a letter.
func lines(content []byte) (out []string) {
	for {
		i := bytes.Index(content, []byte(" Td ("))
		if i < 0 {
			return out
		}
		content = content[i+5:]
		var units []byte
		for k := 0; k < len(content); k++ {
			c := content[k]
			if c == ')' {
				content = content[k:]
				break
			}
			if c == '\\' {
				k++
				c = content[k]
				if c == 'r' {
					c = '\r'
				}
			}
			units = append(units, c)
		}
		var u []uint16
		for k := 0; k+1 < len(units); k += 2 {
			u = append(u, uint16(units[k])<<8|uint16(units[k+1]))
		}
		out = append(out, string(utf16.Decode(u)))
	}
}
