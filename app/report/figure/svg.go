package figure

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// svg writes the figure with its letters as paths.
func (f Figure) svg(w io.Writer) error {
	b := bufio.NewWriter(w)
	s := f.sheet
	_, err := fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%spt" height="%spt" viewBox="0 0 %s %s" role="img">`+"\n<title>%s</title>\n<desc>%s</desc>\n",
		num(s.w), num(s.h), num(s.w), num(s.h), escaped(f.Title), escaped(f.Caption))
	if err != nil {
		return err
	}
	for _, i := range s.items {
		if _, err := b.WriteString(i.svg(s)); err != nil {
			return err
		}
	}
	if _, err := b.WriteString("</svg>\n"); err != nil {
		return err
	}
	return b.Flush()
}

func (i item) svg(s *sheet) string {
	switch {
	case i.text != "":
		return fmt.Sprintf("<path fill=\"%s\" d=\"%s\"/>\n", i.ink.hex(), s.face(i.bold).outline(i.text, i.size, i.at).svg())
	case i.width > 0:
		dash := ""
		if len(i.dash) > 0 {
			var parts []string
			for _, d := range i.dash {
				parts = append(parts, num(d))
			}
			dash = ` stroke-dasharray="` + strings.Join(parts, " ") + `"`
		}
		return fmt.Sprintf("<path fill=\"none\" stroke=\"%s\" stroke-width=\"%s\"%s d=\"%s\"/>\n", i.ink.hex(), num(i.width), dash, i.path.svg())
	}
	return fmt.Sprintf("<path fill=\"%s\" d=\"%s\"/>\n", i.ink.hex(), i.path.svg())
}

func (p path) svg() string {
	var b strings.Builder
	for _, s := range p {
		b.WriteByte(s.op)
		switch s.op {
		case 'Q':
			b.WriteString(num(s.c.X) + " " + num(s.c.Y) + " " + num(s.to.X) + " " + num(s.to.Y))
		case 'M', 'L':
			b.WriteString(num(s.to.X) + " " + num(s.to.Y))
		}
	}
	return b.String()
}

func (i Ink) hex() string { return fmt.Sprintf("#%02x%02x%02x", i.R, i.G, i.B) }

// num writes a length to a hundredth of a point.
func num(v float64) string {
	text := strconv.FormatFloat(v, 'f', 2, 64)
	text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	if text == "-0" {
		return "0"
	}
	return text
}

func escaped(text string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(clean(text))); err != nil {
		return ""
	}
	return b.String()
}
