package ui

import (
	"regexp"
	"testing"

	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestSinceWordsSayNoMoreThanTheFilms(t *testing.T) {
	for _, c := range []struct {
		name string
		fit  study.TrendFit
		want string
	}{
		{"told", study.TrendFit{Rate: 0.2, Lo95: 0.19, Hi95: 0.215, HasInterval: true},
			"Since then: about 0.20 mm a year. The true pace most likely lies between 0.19 and 0.21 mm a year."},
		{"close", study.TrendFit{Rate: 0.04, Lo95: 0.038, Hi95: 0.042, HasInterval: true},
			"Since then: about 0.04 mm a year. The true pace most likely lies between 0.038 and 0.042 mm a year."},
		{"exact", study.TrendFit{Rate: 0.1, Lo95: 0.1, Hi95: 0.1, HasInterval: true}, "Since then: about 0.10 mm a year; the films agree on it closely."},
		{"none told", study.TrendFit{Rate: 0.01, Lo95: -0.02, Hi95: 0.04, HasInterval: true},
			"Since then the movement is too small to be told from none: the true pace most likely lies between minus 0.02 and 0.04 mm a year."},
		{"backwards", study.TrendFit{Rate: -0.05, Lo95: -0.08, Hi95: -0.02, HasInterval: true}, "Since then the films show no movement further in."},
		{"two films", study.TrendFit{Rate: 0.1}, "Since then: about 0.10 mm a year. There are too few films to say how exact that is."},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, sinceWords(&c.fit)) })
	}
}

func TestSettledWords(t *testing.T) {
	require.Equal(t, "In this hip that was about 0.20 mm, mostly within the first year.",
		settledWords(&study.TrendFit{BeddingIn: 0.2, BeddingLo95: 0.1, HasInterval: true, HasBedding: true, StartYears: 1}))
	require.Equal(t, "In this hip it was too little for these films to show.",
		settledWords(&study.TrendFit{BeddingIn: 0.02, BeddingLo95: -0.1, HasInterval: true, HasBedding: true, StartYears: 1}))
	require.Contains(t, settledWords(&study.TrendFit{}), "was not seen")
}

// The page gives no advice, no date of failure, no risk and no verdict.
func TestPatientPageGivesNoVerdict(t *testing.T) {
	d := left(t)
	tr, err := d.s.Trend()
	require.NoError(t, err)
	text := drawingWords(tr, nil) + courseWords(tr, nil)
	for _, s := range append(plainWords(d.s, tr, nil), plainLimits()...) {
		text += s.(*widget.TextSegment).Text + "\n"
	}
	require.Contains(t, text, "One more film was not used.")
	require.Contains(t, text, "On all of them a clinician has still to check the marks.")
	require.Contains(t, text, "not cleared for diagnosis")
	require.NotRegexp(t, regexp.MustCompile(`(?i)risk|fail|revis|replace|should|must|safe|normal|good|bad|danger|%`), text)
}
