package patient_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/report/paper"
	"linerwatch/app/report/paper/papertest"
	"linerwatch/app/report/patient"
	"linerwatch/app/report/reporttest"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

func speech(t *testing.T, code string) texts.Speech {
	t.Helper()
	s, ok := texts.In(code)
	require.True(t, ok)
	return s
}

var print = patient.Print{Clinic: "Clinic for Orthopaedic Surgery and Traumatology of the Example Town and its Surroundings",
	Whom: "the outpatient desk, telephone extension 4711", PaceMM: 2, Date: time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC), Program: "Linerwatch 0.1.0"}

func pdf(t *testing.T, c reporttest.Case, code string, size paper.Size) []byte {
	t.Helper()
	h, err := patient.Of(c.Record, study.Anyone, false)
	require.NoError(t, err)
	p := print
	p.Size = size
	var b bytes.Buffer
	require.NoError(t, patient.New(h, speech(t, code)).PDF(&b, p))
	if dir := os.Getenv("LINERWATCH_PAGES"); dir != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("patient %s %s %s.pdf", c.Name, code, size)), b.Bytes(), 0o644))
	}
	return b.Bytes()
}

// each runs a test for every hip, language and size.
func each(t *testing.T, test func(t *testing.T, c reporttest.Case, code string, pdf []byte)) {
	for _, c := range reporttest.Cases() {
		for _, code := range texts.Codes() {
			for _, size := range []paper.Size{paper.A4, paper.Letter} {
				t.Run(fmt.Sprintf("%s, %s, %s", c.Name, code, size), func(t *testing.T) { test(t, c, code, pdf(t, c, code, size)) })
			}
		}
	}
}

// never is what would be advice, a date of failure, a risk or a verdict.
var never = regexp.MustCompile(`(?i)risk|risiko|\bfail|versag|revis|replace|wechsel|should|sollte|\bmust\b|\bsafe|sicher|\bnormal|\bgood\b|\bgut\b|\bbad\b|schlecht|danger|gefahr|\bscore|%`)

// Every page is one sheet, with all its words in order, the numbers of the trend's JSON as it
// rounds them, and no verdict.
func TestPageIsOneSheet(t *testing.T) {
	each(t, func(t *testing.T, c reporttest.Case, code string, pdf []byte) {
		pages, err := papertest.Pages(pdf)
		require.NoError(t, err)
		require.Len(t, pages, 1)
		h, err := patient.Of(c.Record, study.Anyone, false)
		require.NoError(t, err)
		page := patient.New(h, speech(t, code))
		text := strings.Join(strings.Fields(pages[0]), " ")
		for _, b := range append(page.Told, page.Limits) {
			for _, said := range append([]string{b.Head}, b.Text...) {
				require.Contains(t, text, said)
			}
		}
		require.NotContains(t, text, "patient.", "a key")
		require.NotRegexp(t, regexp.MustCompile(`NaN|Inf|%!`), text)
		require.NotRegexp(t, never, strings.ReplaceAll(text, "stimmen darin gut überein", ""))
		compare(t, c, code, text)
	})
}

// compare looks for the JSON's numbers in the text of a page.
func compare(t *testing.T, c reporttest.Case, code, text string) {
	t.Helper()
	tr, err := c.Record.Trend(study.Anyone)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, report.Trend(&b, report.JSON, tr))
	var j struct {
		Penetration []struct {
			Magnitude, SE float64
			M             float64 `json:"magnitude_mm"`
			S             float64 `json:"se_magnitude_mm"`
		}
		Fit *struct {
			Rate float64  `json:"rate_mm_per_year"`
			Lo   *float64 `json:"lo95"`
			Hi   *float64 `json:"hi95"`
		}
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &j))
	number := func(v float64, places int) string {
		s := strings.TrimPrefix(strconv.FormatFloat(v, 'f', places, 64), "-")
		if code == "de" {
			s = strings.ReplaceAll(s, ".", ",")
		}
		return s
	}
	last := j.Penetration[len(j.Penetration)-1]
	if give := 1.96 * last.S; len(j.Penetration) > 1 && last.M >= max(give, 0.01) {
		require.True(t, strings.Contains(text, number(last.M, 1)+" ") && strings.Contains(text, number(give, 1)+" mm") ||
			strings.Contains(text, number(last.M, 2)+" ") && strings.Contains(text, number(give, 2)+" mm"), "%v ± %v in %s", last.M, give, text)
	}
	if j.Fit == nil || j.Fit.Hi == nil || *j.Fit.Hi <= 0 {
		return
	}
	places := 2
	if *j.Fit.Hi-*j.Fit.Lo < 0.02 {
		places = 3
	}
	for _, v := range []float64{*j.Fit.Lo, *j.Fit.Hi} {
		require.Contains(t, text, number(v, places))
	}
}

// Arithmetic about the future is printed by choice only.
func TestPaceIsByChoice(t *testing.T) {
	c := reporttest.Cases()[0]
	with, err := papertest.Pages(pdf(t, c, "en", paper.A4))
	require.NoError(t, err)
	require.Contains(t, with[0], "At this pace, 2 mm takes about")
	require.Contains(t, strings.Join(strings.Fields(with[0]), " "), "A pace can change, so this is arithmetic and no forecast.")
	h, err := patient.Of(c.Record, study.Anyone, false)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, patient.New(h, speech(t, "en")).PDF(&b, patient.Print{Date: print.Date}))
	without, err := papertest.Pages(b.Bytes())
	require.NoError(t, err)
	require.NotContains(t, without[0], "pace, ")
}

// Of readings that nobody has accepted there is no page, nor of films that make no series: a
// page for a patient names no other patient.
func TestNothingToTellIsNoPage(t *testing.T) {
	r := reporttest.Cases()[0].Record
	_, err := patient.Of(r, "R2", false)
	require.ErrorIs(t, err, study.ErrNoneAccepted)
	r.Readings[1].Film.Facts.Patient = "Q7-999"
	r.Films[1].Facts.Patient = "Q7-999"
	_, err = patient.Of(r, study.Anyone, false)
	require.ErrorContains(t, err, "film.patients")
}

// What nobody has checked is shown by choice only, and the page says so in its head.
func TestUncheckedIsSaid(t *testing.T) {
	whole := reporttest.Cases()[0].Record
	for n, said := range map[int]string{
		2: "Not checked: on 2 of the 5 films the program placed the marks by itself, and nobody has looked at them.",
		5: "Not checked: the program placed all marks by itself, and nobody has looked at them.",
	} {
		r := reporttest.Unread(whole, n)
		h, err := patient.Of(r, study.Anyone, true)
		require.NoError(t, err)
		require.Equal(t, n, h.Unchecked)
		require.Zero(t, h.Waiting)
		page := patient.New(h, speech(t, "en"))
		require.Contains(t, page.First[0], said)
		var b bytes.Buffer
		require.NoError(t, page.PDF(&b, print))
		pages, err := papertest.Pages(b.Bytes())
		require.NoError(t, err)
		require.Len(t, pages, 1)
		text := strings.Join(strings.Fields(pages[0]), " ")
		require.Contains(t, text, said)
		require.Contains(t, text, "On 5 X-ray films")
		require.Contains(t, text, "A clinician has to review every reading.")
		require.Less(t, strings.Index(text, said), strings.Index(text, "What was measured"))

		h, err = patient.Of(r, study.Anyone, false)
		if n == 5 {
			require.ErrorIs(t, err, study.ErrNoneAccepted)
			continue
		}
		require.NoError(t, err)
		require.Equal(t, n, h.Waiting)
		require.Contains(t, patient.New(h, speech(t, "en")).Told[0].Text[0], "On 3 X-ray films")
		require.Contains(t, patient.New(h, speech(t, "en")).Told[0].Text[0], "2 more films wait for a clinician")
	}
}

func TestSameBytes(t *testing.T) {
	c := reporttest.Cases()[0]
	require.Equal(t, pdf(t, c, "de", paper.A4), pdf(t, c, "de", paper.A4))
}

// What other programs make of a page.
func TestPeersReadThePage(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs for every page")
	}
	for _, tool := range []string{"pdftotext", "pdffonts", "qpdf"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip("no " + tool)
		}
	}
	each(t, func(t *testing.T, c reporttest.Case, code string, pdf []byte) {
		file := filepath.Join(t.TempDir(), "p.pdf")
		require.NoError(t, os.WriteFile(file, pdf, 0o644))
		run := func(name string, args ...string) string {
			out, err := exec.Command(name, args...).CombinedOutput()
			require.NoError(t, err, "%s: %s", name, out)
			return string(out)
		}
		require.Contains(t, run("qpdf", "--check", file), "No syntax or stream encoding errors found")
		fonts := strings.Split(strings.TrimSpace(run("pdffonts", file)), "\n")[2:]
		require.NotEmpty(t, fonts)
		for _, f := range fonts {
			require.Regexp(t, `^[A-Z]{6}\+\S+ +CID TrueType +Identity-H +yes yes yes`, f)
		}
		compare(t, c, code, strings.Join(strings.Fields(run("pdftotext", "-layout", file, "-")), " "))
	})
}
