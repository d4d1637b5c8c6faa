package account

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"strings"
	"time"

	"linerwatch/app/report/figure"
)

// css is the look of the page; nothing of it comes from elsewhere.
const css = `body{font:1rem/1.5 system-ui,sans-serif;color:#10161b;background:#fff;max-width:60rem;margin:0 auto;padding:1rem}
h1{font-size:1.7rem}h2{font-size:1.3rem;margin-top:2.2rem;border-bottom:1px solid #b9c0c5}h3{font-size:1.05rem}
table{border-collapse:collapse;margin:1rem 0;width:100%}caption{text-align:left;font-weight:bold;padding:.3rem 0}
th,td{padding:.2rem .6rem .2rem 0;border-bottom:1px solid #dde1e4;text-align:left;vertical-align:top;font-weight:normal}
thead th{font-weight:bold;border-bottom:2px solid #59636b}.n{text-align:right;font-variant-numeric:tabular-nums}td.n{white-space:nowrap}
figure{margin:1.2rem 0;break-inside:avoid}figure svg{max-width:100%;height:auto}figcaption{font-size:.9rem}
.skip{position:absolute;left:-99rem}.skip:focus{position:static}
@media print{@page{margin:18mm 16mm}:root{font-size:9pt}body{padding:0;max-width:none}nav{display:none}
h1,h2,h3,caption,thead{break-after:avoid}tr,li{break-inside:avoid}p{orphans:2;widows:2}
tbody tr:nth-child(-n+2){break-after:avoid}tbody tr:nth-last-child(2){break-after:avoid}}`

// HTML writes the report as one page.
func (a Account) HTML(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>%s</title>\n<style>\n%s\n</style>\n</head>\n<body>\n", a.voice.Code(), esc(a.Title), css)
	fmt.Fprintf(&b, "<a class=\"skip\" href=\"#main\">%s</a>\n", esc(a.voice.Say("account.skip", nil)))
	a.contents(&b)
	b.WriteString("<main id=\"main\">\n")
	part := 0
	for _, x := range a.blocks {
		switch x := x.(type) {
		case heading:
			id := ""
			if x.level == 2 {
				part++
				id = fmt.Sprintf(" id=\"part%d\"", part)
			}
			fmt.Fprintf(&b, "<h%d%s>%s</h%d>\n", x.level, id, esc(x.text), x.level)
		case paragraph:
			fmt.Fprintf(&b, "<p>%s</p>\n", esc(string(x)))
		case list:
			b.WriteString("<ul>\n")
			for _, t := range x {
				fmt.Fprintf(&b, "<li>%s</li>\n", esc(t))
			}
			b.WriteString("</ul>\n")
		case table:
			x.html(&b)
		case picture:
			if err := x.html(&b, a.Date); err != nil {
				return err
			}
		}
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := w.Write(b.Bytes())
	return err
}

// contents lists the parts.
func (a Account) contents(b *bytes.Buffer) {
	fmt.Fprintf(b, "<nav aria-label=\"%s\">\n<ol>\n", esc(a.voice.Say("account.contents", nil)))
	part := 0
	for _, x := range a.blocks {
		if h, ok := x.(heading); ok && h.level == 2 {
			part++
			fmt.Fprintf(b, "<li><a href=\"#part%d\">%s</a></li>\n", part, esc(h.text))
		}
	}
	b.WriteString("</ol>\n</nav>\n")
}

func (t table) html(b *bytes.Buffer) {
	fmt.Fprintf(b, "<table>\n<caption>%s</caption>\n<thead><tr>", esc(t.caption))
	for _, c := range t.columns {
		fmt.Fprintf(b, "<th scope=\"col\"%s>%s</th>", c.class(), esc(c.title))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.rows {
		b.WriteString("<tr>")
		for i, cell := range r {
			if i == 0 {
				fmt.Fprintf(b, "<th scope=\"row\"%s>%s</th>", t.columns[i].class(), esc(cell))
				continue
			}
			fmt.Fprintf(b, "<td%s>%s</td>", t.columns[i].class(), esc(cell))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table>\n")
}

func (c column) class() string {
	if c.right {
		return " class=\"n\""
	}
	return ""
}

// html puts the figure into the page, with its title and description for those who hear it.
func (p picture) html(b *bytes.Buffer, date time.Time) error {
	b.WriteString("<figure>\n")
	var svg bytes.Buffer
	if err := p.Write(&svg, figure.SVG, 0, date); err != nil {
		return err
	}
	b.WriteString(strings.Replace(svg.String(), "<svg ", fmt.Sprintf("<svg aria-label=\"%s\" ", esc(p.words())), 1))
	fmt.Fprintf(b, "<figcaption>%s</figcaption>\n</figure>\n", esc(p.words()))
	return nil
}

func esc(s string) string { return html.EscapeString(strings.Join(strings.Fields(s), " ")) }
