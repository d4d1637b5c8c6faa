package figure_test

import (
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/findings"
	"linerwatch/app/findings/findingstest"
	"linerwatch/app/report/figure"
	"linerwatch/app/report/paper/papertest"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// keep is a folder in which the figures are left, to be looked at.
var keep = flag.String("keep", "", "folder to leave the figures in")

var date = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

// made are studies of every kind that figures have to bear.
var made = map[string]findingstest.Study{
	"two":     {Hips: 2, Readers: 2},
	"none":    {Hips: 12, Readers: 2, Films: 7, LongNames: true},
	"groups":  {Hips: 40, Groups: []string{"XLPE, 28 mm", "Conventional polyethylene, 28 mm head"}, Readers: 3, Films: 7, Faults: true},
	"many":    {Hips: 200, Groups: []string{"A", "B", "C", "D"}, Readers: 2, Films: 7, Faults: true},
	"refused": {Hips: 3, Films: 1},
}

func input(s findingstest.Study, o findings.Options) (in figure.Input) {
	g := findings.New(o)
	for i, r := range s.Records() {
		g.Add(r)
		if t, err := r.Trend(study.Anyone); err == nil && i == 0 {
			in.Trends = []study.Trend{t}
		}
	}
	in.Findings = g.Tell()
	in.Findings.Liners = liners(s)
	return in
}

// liners are made up of liners, as the records of the hips do not tell them.
func liners(s findingstest.Study) findings.Liners {
	var rows []study.LinerRow
	for i := range s.Hips {
		row := study.LinerRow{Hip: fmt.Sprint(i), Years: 2 + float64(i*7%130)/8, Event: i % 5 / 4}
		if n := len(s.Groups); n > 0 {
			row.Group = s.Groups[i%n]
		}
		rows = append(rows, row)
	}
	return findings.TellLiners(rows)
}

func TestFigures(t *testing.T) {
	for name, s := range made {
		if testing.Short() && name == "many" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			in := input(s, findings.Options{Model: s.Hips > 2, Checks: s.Hips > 2})
			for _, kind := range figure.Names() {
				for _, column := range []figure.Column{figure.Single, figure.Double} {
					f, err := figure.Draw(kind, in, column)
					var none *figure.NoneError
					if name == "refused" || s.Hips == 2 && kind == "residuals" {
						if err != nil {
							require.ErrorAs(t, err, &none)
							require.NotEmpty(t, study.NoteWords(none.Why))
							continue
						}
					}
					require.NoError(t, err, kind)
					w, h := f.Size()
					require.InDelta(t, map[figure.Column]float64{figure.Single: 85, figure.Double: 175}[column], w, 1e-9)
					require.Less(t, h, 235.0, "a page holds it")
					leave(t, f, name, column)
				}
			}
		})
	}
}

// leave writes a figure in each format, twice, and keeps it where that was asked for.
func leave(t *testing.T, f figure.Figure, name string, column figure.Column) {
	t.Helper()
	for _, format := range figure.Formats() {
		var one, two bytes.Buffer
		require.NoError(t, f.Write(&one, format, figure.LowDPI, date))
		if format != figure.PNG || column == figure.Single {
			require.NoError(t, f.Write(&two, format, figure.LowDPI, date))
			require.True(t, bytes.Equal(one.Bytes(), two.Bytes()), "the same input gives the same bytes")
		}
		if *keep != "" {
			require.NoError(t, os.WriteFile(filepath.Join(*keep, fmt.Sprintf("%s-%s-%s.%s", f.Name, name, column, format)), one.Bytes(), 0o644))
		}
	}
}

func TestPNGStatesItsResolution(t *testing.T) {
	f, err := figure.Draw("trend", input(made["two"], findings.Options{}), figure.Single)
	require.NoError(t, err)
	for _, dpi := range []int{figure.LowDPI, figure.HighDPI} {
		var b bytes.Buffer
		require.NoError(t, f.Write(&b, figure.PNG, dpi, date))
		at := bytes.Index(b.Bytes(), []byte("pHYs"))
		require.Equal(t, 37, at, "before the pixels")
		require.InDelta(t, float64(dpi)/0.0254, float64(binary.BigEndian.Uint32(b.Bytes()[at+4:])), 0.5)
		img, err := png.Decode(&b) // checks the sums
		require.NoError(t, err)
		require.InDelta(t, 85/25.4*float64(dpi), float64(img.Bounds().Dx()), 1)
	}
}

func TestSVGSaysWhatItShows(t *testing.T) {
	in := input(made["two"], findings.Options{})
	f, err := figure.Draw("trend", in, figure.Single)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, f.Write(&b, figure.SVG, 0, date))
	require.Contains(t, b.String(), "<title>Penetration of one hip over time</title>")
	require.Contains(t, b.String(), fmt.Sprintf("steady-state rate %.3f mm/year", in.Trends[0].Fit.Rate))
	for _, bad := range []string{"NaN", "Inf", "<text", "href"} {
		require.NotContains(t, b.String(), bad)
	}
	require.Equal(t, 1, strings.Count(b.String(), "<svg"))
}

// Curves that are too many for one plot have one each, with their intervals.
func TestSurvivalOfManyGroups(t *testing.T) {
	for _, n := range []int{3, 4, 7, 14} {
		s := findingstest.Study{Hips: 20 * n}
		for i := range n {
			s.Groups = append(s.Groups, fmt.Sprintf("Group %c of the western region", 'A'+i))
		}
		in := figure.Input{Findings: findings.Findings{Liners: liners(s)}}
		for _, column := range []figure.Column{figure.Single, figure.Double} {
			f, err := figure.Draw("survival", in, column)
			require.NoError(t, err)
			_, h := f.Size()
			require.Less(t, h, 235.0, "a page holds it")
			leave(t, f, fmt.Sprint(n), column)
			require.Equal(t, n > 12, strings.Contains(f.Caption, "2 more groups are not drawn"), n)
			text := words(t, f)
			require.GreaterOrEqual(t, strings.Count(text, "western region"), min(n, 12))
			require.Equal(t, n > 3, strings.Contains(text, "the other groups"))
		}
	}
}

// words are what is written in a figure.
func words(t *testing.T, f figure.Figure) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, f.Write(&b, figure.PDF, 0, date))
	pages, err := papertest.Pages(b.Bytes())
	require.NoError(t, err)
	return strings.Join(strings.Fields(strings.Join(pages, " ")), " ")
}

// The trends of several hips have a plot each; of those without a film there is none.
func TestTrendsOfHips(t *testing.T) {
	var in figure.Input
	for _, r := range (findingstest.Study{Hips: 11}).Records() {
		tr, err := r.Trend(study.Anyone)
		require.NoError(t, err)
		in.Trends = append(in.Trends, tr, study.Trend{})
	}
	f, err := figure.Draw("trend", in, figure.Double)
	require.NoError(t, err)
	leave(t, f, "hips", figure.Double)
	require.Contains(t, f.Caption, "3 more hips are not drawn.")
	require.Equal(t, 8, strings.Count(words(t, f), "years since surgery"))
	require.Contains(t, words(t, f), fmt.Sprintf("rate %.3f mm/year", in.Trends[2].Fit.Rate))
}

func TestFiguresInGerman(t *testing.T) {
	speech, _ := texts.In("de")
	s := findingstest.Study{Hips: 24, Groups: []string{"A", "B"}, Readers: 2, Faults: true, Events: true}
	in := input(s, findings.Options{Speech: speech, Model: true, Checks: true})
	in.Speech = speech
	for name, said := range map[string]string{
		"trend": "Jahre seit der Operation", "flow": "Hüften mit einer Rate", "hips": "eine Hüfte", "agreement": "Übereinstimmungsgrenzen",
		"survival": "Inlays unter Beobachtung", "rates": "Mittel, A", "residuals": "Residuen",
	} {
		f, err := figure.Draw(name, in, figure.Double)
		require.NoError(t, err)
		leave(t, f, "deutsch", figure.Double)
		text := f.Title + f.Caption + words(t, f)
		require.Contains(t, text, said, name)
		require.NotRegexp(t, `\d\.\d`, text, "%s: the mark of decimals is a comma", name)
		require.NotRegexp(t, `\b(interval|film|hip|year|years|mean|reading|group)\b`, text, name)
	}
}

func TestNoFigure(t *testing.T) {
	_, err := figure.Draw("pie", figure.Input{}, figure.Single)
	require.ErrorContains(t, err, `no figure "pie"`)
	for _, name := range figure.Names() {
		_, err := figure.Draw(name, figure.Input{Findings: findings.New(findings.Options{}).Tell()}, figure.Single)
		var none *figure.NoneError
		require.ErrorAs(t, err, &none, name)
		require.NotEmpty(t, study.NoteWords(none.Says()))
	}
}

// An interval that goes on beyond the axis has an arrow, which the caption tells of; that of a
// group's mean rate is drawn whole.
func TestIntervalsBeyondTheAxis(t *testing.T) {
	const told = "An arrow is an interval that goes on beyond the axis."
	for name, beyond := range map[string]bool{"two": true, "groups": false} {
		f, err := figure.Draw("hips", input(made[name], findings.Options{}), figure.Double)
		require.NoError(t, err)
		require.Equal(t, beyond, strings.Contains(f.Caption, told), name)
	}
	in := input(made["groups"], findings.Options{Model: true})
	plain, err := figure.Draw("rates", in, figure.Double)
	require.NoError(t, err)
	require.NotContains(t, plain.Caption, told)
	group := in.Findings.Groups[0]
	for i, q := range in.Findings.Cohort.Mixed {
		if q.HasInterval && q.Name == "rate" && q.Of == group {
			in.Findings.Cohort.Mixed[i].Interval.Hi = 4
		}
	}
	wide, err := figure.Draw("rates", in, figure.Double)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, wide.Write(&b, figure.SVG, figure.LowDPI, date))
	frame := regexp.MustCompile(`stroke="#10161b"[^>]*L([\d.]+) [\d.]+"/>\n</svg>`).FindStringSubmatch(b.String())
	require.NotNil(t, frame, "the axes are drawn last")
	end, err := strconv.ParseFloat(frame[1], 64)
	require.NoError(t, err)
	tip := 0.0 // the rightmost of the diamonds
	for _, m := range regexp.MustCompile(`d="M[\d.]+ ([\d.]+)L[\d.]+ [\d.]+L([\d.]+) ([\d.]+)L[\d.]+ [\d.]+Z"`).FindAllStringSubmatch(b.String(), -1) {
		if x, err := strconv.ParseFloat(m[2], 64); err == nil && m[1] == m[3] {
			tip = max(tip, x)
		}
	}
	require.Greater(t, tip, 0.9*end, "the mean's interval is the widest")
	require.Less(t, tip, end-1, "and ends within the axis")
}

// While no liner is revised the interval is the exact one, and is drawn too.
func TestSurvivalWithoutARevision(t *testing.T) {
	in := input(made["two"], findings.Options{})
	require.Zero(t, in.Findings.Liners.Curves[0].Events)
	f, err := figure.Draw("survival", in, figure.Single)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, f.Write(&b, figure.SVG, figure.LowDPI, date))
	band := regexp.MustCompile(`fill="(#d[0-9a-f]{5})"`).FindStringSubmatch(b.String())
	require.NotNil(t, band, "the legend's sample")
	require.GreaterOrEqual(t, strings.Count(b.String(), band[0]), 2, "the band itself")
}

// A long name is cut so that the two hips of a patient can be told apart.
func TestLongNamesKeepTheirSide(t *testing.T) {
	f, err := figure.Draw("rates", input(made["none"], findings.Options{}), figure.Single)
	require.NoError(t, err)
	require.Regexp(t, `P-0008-CENTRE[^ ]*… left`, words(t, f))
	require.Regexp(t, `P-0008-CENTRE[^ ]*… right`, words(t, f))
}
