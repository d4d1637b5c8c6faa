package report_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

var update = flag.Bool("update", false, "write the golden files anew")

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

// measured is a film on which the head lies (sup, med) mm off the cup's centre,
// each known to se.
func measured(name, date string, sup, med, se float64) study.Measurement {
	m := study.Measurement{
		Film:   study.Film{ID: name, Path: "films/" + name, Facts: study.Facts{SHA256: "ab12", Patient: "Q7-000", Date: day(date), Side: measure.Right, SpacingMM: 0.148, SpacingKind: "imager"}},
		Status: study.Measured, Side: measure.Right, CupKind: measure.Shell, HeadMM: 28,
		Beam: study.BeamUse{Reason: study.Note{Text: "the file states no distance from source to detector"}},
	}
	m.Head.Circle = measure.Circle{X: 600.5, Y: 500.25, R: 108.125}
	m.Head.Cov = [3][3]float64{{0.0004, 0, 0}, {0, 0.0009, 0}, {0, 0, 0.0001}}
	m.Head.Arc, m.Head.RMS = 212, 0.3
	m.Head.Contrast, m.Head.Clipped = 41.5, 0.02
	m.Cup.Circle = measure.Circle{X: 600, Y: 502, R: 208.5}
	m.Cup.Cov = m.Head.Cov
	m.Cup.Arc, m.Cup.RMS = 170, 0.4
	m.Reading = measure.Reading{
		Scale: 0.12948, SEScale: 1e-5,
		Offset:       measure.Vector{Superior: sup, Medial: med, Cov: [2][2]float64{{se * se, 0}, {0, se * se}}},
		Eccentricity: 0.0179, SEEccentricity: 0.0021, Thinnest: 12.761, SEThinnest: 0.034,
	}
	return m
}

// series is a hip with five measured films, one refused and one failed.
func series() (study.Hip, []study.Measurement) {
	h := study.Hip{ID: "Q7-000-right", Side: measure.Right, Surgery: day("2004-05-03"),
		Implant: study.Implant{HeadMM: 28, LinerMM: 8}, StartYears: 1}
	refused := study.Measurement{Film: study.Film{Path: "films/f.dcm", Facts: study.Facts{Date: day("2010-01-05")}},
		Status: study.Refused, Reason: study.Note{Text: "no hip replacement found"}}
	failed := study.Measurement{Film: study.Film{Path: "films/g.dcm"}, Status: study.Failed, Reason: study.Note{Text: "malformed: no pixels"}}
	return h, []study.Measurement{
		measured("a.dcm", "2004-06-16", 0.02, -0.01, 0.02),
		measured("b.dcm", "2005-06-20", 0.31, 0.03, 0.02),
		measured("c.dcm", "2007-05-02", 0.52, 0.05, 0.02),
		measured("d.dcm", "2009-06-11", 0.74, 0.02, 0.02),
		measured("e.dcm", "2014-05-04", 1.29, 0.11, 0.02),
		refused, failed,
	}
}

func trend(t *testing.T) study.Trend {
	t.Helper()
	tr, err := study.NewTrend(series())
	require.NoError(t, err)
	require.NotNil(t, tr.Fit)
	return tr
}

// golden compares text with a file of testdata, which has plain line ends.
func golden(t *testing.T, name string, write func(*bytes.Buffer) error) {
	t.Helper()
	var got bytes.Buffer
	require.NoError(t, write(&got))
	text := strings.ReplaceAll(got.String(), "\r\n", "\n")
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, strings.ReplaceAll(string(want), "\r\n", "\n"), text)
}
