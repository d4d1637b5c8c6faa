package account_test

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"html"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/findings"
	"linerwatch/app/findings/findingstest"
	"linerwatch/app/report/account"
	"linerwatch/app/report/paper"
	"linerwatch/app/report/paper/papertest"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// keep is a folder in which the reports are left, to be looked at.
var keep = flag.String("keep", "", "folder to leave the reports in")

var about = account.About{Study: "hips.linerwatch", Program: "Linerwatch test", Date: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}

func tell(s findingstest.Study) findings.Findings { return tellIn("en", s) }

func tellIn(code string, s findingstest.Study) findings.Findings {
	speech, _ := texts.In(code)
	g := findings.New(findings.Options{Speech: speech, Lists: s.Lists(), Model: true, Checks: true})
	for _, r := range s.Records() {
		g.Add(r)
	}
	g.Wait(study.Film{ID: "w", Waits: study.NotAP})
	return g.Tell()
}

func written(t *testing.T, name string, f findings.Findings) (page, pdf string) {
	t.Helper()
	a := account.New(f, about)
	var h, p, again bytes.Buffer
	require.NoError(t, a.HTML(&h))
	require.NoError(t, a.PDF(&p, paper.A4))
	require.NoError(t, account.New(f, about).PDF(&again, paper.A4))
	require.True(t, bytes.Equal(p.Bytes(), again.Bytes()), "the same input gives the same bytes")
	if *keep != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*keep, name+".html"), h.Bytes(), 0o644))
		require.NoError(t, os.WriteFile(filepath.Join(*keep, name+".pdf"), p.Bytes(), 0o644))
	}
	return h.String(), p.String()
}

// TestReportHoldsTheNumbers looks for the numbers of the findings in the page.
func TestReportHoldsTheNumbers(t *testing.T) {
	f := tell(findingstest.Study{Hips: 130, Groups: []string{"A & B", "C"}, Readers: 2, Faults: true, Events: true})
	page, _ := written(t, "groups", f)
	rows := cells(page)
	for _, q := range append(f.Cohort.Mixed, f.Readers.Quantities...) {
		if strings.HasPrefix(q.Model, "shrunken") || !q.Exists() || q.Unit == "" {
			continue
		}
		row, ok := rows[escaped(q.Name)+"|"+escaped(q.Of)+"|"+minus("%.3f", q.Value)]
		require.True(t, ok, "%s of %s: %.3f", q.Name, q.Of, q.Value)
		if q.HasInterval && !q.Interval.Open() {
			require.Equal(t, minus("%.3f", q.Interval.Lo)+" to "+minus("%.3f", q.Interval.Hi), row[3])
		}
	}
	for _, v := range f.Visits {
		for i, q := range v.Of {
			if q.Exists() {
				require.Contains(t, page, fmt.Sprintf("<td class=\"n\">%d</td><td class=\"n\">%s</td>", v.N[i], minus("%.3f", q.Value)))
			}
		}
	}
	for _, flow := range []findings.Flow{f.HipFlow, f.FilmFlow} {
		for _, s := range flow {
			require.Contains(t, page, fmt.Sprintf(">%s</th><td class=\"n\">%d</td>", study.NoteWords(study.Note{Code: s.Key}), s.N))
		}
	}
	for _, a := range f.Above {
		require.Contains(t, page, fmt.Sprintf("<td class=\"n\">%d (%.1f %%)</td>", a.N, 100*float64(a.N)/float64(a.Hips)))
	}
	require.NotEmpty(t, f.Liners.Curves)
	require.NotContains(t, page, "NaN")
}

func minus(format string, v float64) string {
	return strings.Replace(strings.Replace(fmt.Sprintf(format, v), "-0.000", "0.000", 1), "-", "−", 1)
}

func escaped(s string) string { return html.EscapeString(s) }

var aRow = regexp.MustCompile(`<tr><th scope="row"[^>]*>([^<]*)</th>(.*?)</tr>`)
var aCell = regexp.MustCompile(`<td[^>]*>([^<]*)</td>`)

// cells are the rows of a page's tables by their first three cells.
func cells(page string) map[string][]string {
	out := map[string][]string{}
	for _, m := range aRow.FindAllStringSubmatch(page, -1) {
		row := []string{m[1]}
		for _, c := range aCell.FindAllStringSubmatch(m[2], -1) {
			row = append(row, c[1])
		}
		if len(row) > 2 {
			out[strings.Join(row[:3], "|")] = row
		}
	}
	return out
}

// inTables are names that are the same in every language.
var inTables = regexp.MustCompile(`^(ICC\(|AIC$)`)

// TestReportInGerman looks for what is said in English all the same.
func TestReportInGerman(t *testing.T) {
	f := tellIn("de", findingstest.Study{Hips: 60, Groups: []string{"A", "B"}, Readers: 2, Faults: true, Events: true, Listed: true})
	page, _ := written(t, "deutsch", f)
	require.Contains(t, page, `<html lang="de">`)
	require.Contains(t, page, "Bericht der Studie: hips.linerwatch")
	names := map[string]bool{}
	for _, row := range aRow.FindAllStringSubmatch(page, -1) {
		names[html.UnescapeString(row[1])] = true
	}
	for _, q := range slices.Concat(f.Cohort.Mixed, f.Cohort.Own, f.Readers.Quantities, f.Liners.Told) {
		if strings.HasPrefix(q.Model, "shrunken") || inTables.MatchString(q.Name) {
			continue
		}
		require.False(t, names[q.Name], "%s is not said in German", q.Name)
	}
	rate, ok := f.Cohort.Rate("A", f.Groups)
	require.True(t, ok)
	require.Contains(t, page, strings.Replace(minus("%.3f", rate.Value), ".", ",", 1))
	require.NotRegexp(t, `\b(account|figure|flow|named|methods|grras|strobe|hand|guide)\.[a-z]`, page)
	require.NotRegexp(t, `<td class="n">[^<]*\d\.\d`, page, "the mark of decimals is a comma")
}

// TestReadingIsTold looks for lists, grades and adjudications.
func TestReadingIsTold(t *testing.T) {
	page, _ := written(t, "listed", tell(findingstest.Study{Hips: 12, Readers: 2, Listed: true}))
	for _, said := range []string{
		"Films were read from 3 lists in random order", "Films on which a third reader adjudicated: 1.", "Films graded for their quality before their numbers were shown: 60.",
		`<td>R1</td><td>reading</td><td class="n">72 (100.0 %)</td><td class="n">12</td><td>10 films, 14 days</td><td>no outlines</td><td>ended 2026-03-20</td>`,
		`<td>R3</td><td>adjudication</td><td class="n">1 (100.0 %)</td>`,
		`<th scope="row">R1</th><td class="n">60</td><td class="n">36 (60.0 %)</td><td class="n">12 (20.0 %)</td><td class="n">12 (20.0 %)</td><td>blurred 12; pelvis turned 12</td>`,
		"1 of an adjudication, passed over", "within-target SD", "12 of their places were read a second time",
	} {
		require.Contains(t, page, said)
	}
	page, _ = written(t, "open", tell(findingstest.Study{Hips: 12}))
	for _, said := range []string{"No film was read from a list", "No film was adjudicated", "No reader graded the quality of a film."} {
		require.Contains(t, page, said)
	}
}

// TestPageCanBeHeard checks what a page is read out by, and that nothing of it comes from
// elsewhere.
func TestPageCanBeHeard(t *testing.T) {
	page, _ := written(t, "two", tell(findingstest.Study{Hips: 2}))
	d := xml.NewDecoder(strings.NewReader(strings.Replace(strings.Replace(page, "<!DOCTYPE html>", "", 1), "<meta charset=\"utf-8\">", "", 1)))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	level, tables, captions, figures, described := 0, 0, 0, 0, 0
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		switch name := e.Name.Local; name {
		case "h1", "h2", "h3":
			next := int(name[1] - '0')
			require.LessOrEqual(t, next, level+1, "no level of headings is passed over")
			level = next
		case "table":
			tables++
		case "caption":
			captions++
		case "figure":
			figures++
		case "svg":
			for _, a := range e.Attr {
				if a.Name.Local == "aria-label" && len(a.Value) > 40 {
					described++
				}
			}
		case "img", "script", "link", "iframe":
			t.Errorf("a %s may come from elsewhere", name)
		}
		for _, a := range e.Attr {
			require.NotContains(t, a.Value, "url(", e.Name.Local)
			if a.Name.Local == "href" {
				require.True(t, strings.HasPrefix(a.Value, "#"), a.Value)
			}
		}
	}
	require.Positive(t, tables)
	require.Equal(t, tables, captions)
	require.Positive(t, figures)
	require.Equal(t, figures, described)
	require.Contains(t, page, `<html lang="en">`)
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	page, _ := written(t, "none", tell(findingstest.Study{Hips: 2, Films: 1}))
	for _, words := range []string{
		"No second reader, and no film read twice: no agreement.", "The study holds no event of a liner: no survival.",
		"No mixed model:", "No film after a baseline film is measured.", "nothing here: no second reader",
	} {
		require.Contains(t, page, words)
	}
	page, _ = written(t, "empty", tell(findingstest.Study{}))
	require.Contains(t, page, "films, once for each hip on them</th><td class=\"n\">1</td>")
}

// TestPagesHoldTheNumbers reads the pages as they were written.
func TestPagesHoldTheNumbers(t *testing.T) {
	f, pdf := long(t)
	pages, err := papertest.Pages(pdf)
	require.NoError(t, err)
	holdsNumbers(t, strings.Join(pages, "\n"), f)
	require.Less(t, len(pdf), 2_000_000)
}

// long is a study whose hips have long names, and its report.
func long(t *testing.T) (findings.Findings, []byte) {
	t.Helper()
	f := tell(findingstest.Study{Hips: 120, Readers: 2, LongNames: true})
	_, pdf := written(t, "long", f)
	return f, []byte(pdf)
}

func holdsNumbers(t *testing.T, text string, f findings.Findings) {
	t.Helper()
	q, ok := f.Cohort.Rate("", f.Groups)
	require.True(t, ok)
	require.Contains(t, text, minus("%.3f", q.Value))
	require.Contains(t, text, minus("%.3f", q.Interval.Lo)+" to "+minus("%.3f", q.Interval.Hi))
	for _, s := range f.FilmFlow {
		require.Contains(t, text, fmt.Sprint(s.N))
	}
}

// TestPeersRead has poppler and qpdf read the file (bash .ci/peers paper).
func TestPeersRead(t *testing.T) {
	for _, tool := range []string{"pdftotext", "pdffonts", "qpdf"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip(tool + " is not here")
		}
	}
	f, pdf := long(t)
	path := filepath.Join(t.TempDir(), "r.pdf")
	require.NoError(t, os.WriteFile(path, pdf, 0o644))
	out, err := exec.Command("qpdf", "--check", path).CombinedOutput()
	require.NoError(t, err, string(out))
	fonts, err := exec.Command("pdffonts", path).Output()
	require.NoError(t, err)
	for _, line := range strings.Split(strings.TrimSpace(string(fonts)), "\n")[2:] {
		require.Regexp(t, `CID TrueType\s+Identity-H\s+yes`, line)
	}
	text, err := exec.Command("pdftotext", "-layout", path, "-").Output()
	require.NoError(t, err)
	holdsNumbers(t, string(text), f)
}

// BenchmarkStudyReport tells and writes the report of 2,000 hips of five films, read once.
func BenchmarkStudyReport(b *testing.B) {
	records := findingstest.Study{Hips: 2000, Groups: []string{"A", "B"}, Events: true}.Records()
	for b.Loop() {
		g := findings.New(findings.Options{Model: true, Checks: true})
		for _, r := range records {
			g.Add(r)
		}
		a := account.New(g.Tell(), about)
		var h, p bytes.Buffer
		require.NoError(b, a.HTML(&h))
		require.NoError(b, a.PDF(&p, paper.A4))
		b.ReportMetric(float64(h.Len())/1e6, "MB-html")
		b.ReportMetric(float64(p.Len())/1e6, "MB-pdf")
	}
}
