package patient

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

func speech(t *testing.T, code string) texts.Speech {
	t.Helper()
	s, ok := texts.In(code)
	require.True(t, ok)
	return s
}

func english(t *testing.T) voice { return voice{paper.Voice{Speech: speech(t, "en")}} }

func TestSinceWordsSayNoMoreThanTheFilms(t *testing.T) {
	for _, c := range []struct {
		name string
		fit  study.TrendFit
		want string
	}{
		{"told", study.TrendFit{Rate: 0.2, Lo95: 0.19, Hi95: 0.215, HasInterval: true},
			"Since then: about 0.20 mm a year. The true pace most likely lies between 0.19 and 0.21 mm a year."},
		{"close", study.TrendFit{Rate: 0.04, Lo95: 0.038, Hi95: 0.042, HasInterval: true},
			"Since then: about 0.040 mm a year. The true pace most likely lies between 0.038 and 0.042 mm a year."},
		{"exact", study.TrendFit{Rate: 0.1, Lo95: 0.1, Hi95: 0.1, HasInterval: true}, "Since then: about 0.10 mm a year; the films agree on it closely."},
		{"none told", study.TrendFit{Rate: 0.01, Lo95: -0.02, Hi95: 0.04, HasInterval: true},
			"Since then the movement is too small to be told from none: the true pace most likely lies between minus 0.02 and 0.04 mm a year."},
		{"backwards", study.TrendFit{Rate: -0.05, Lo95: -0.08, Hi95: -0.02, HasInterval: true}, "Since then the films show no movement further in."},
		{"two films", study.TrendFit{Rate: 0.1}, "Since then: about 0.10 mm a year. There are too few films to say how exact that is."},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, english(t).since(&c.fit)) })
	}
}

func TestSettledWords(t *testing.T) {
	fit := study.TrendFit{BeddingIn: 0.2, BeddingLo95: 0.1, SE: 0.01, HasInterval: true, HasBedding: true, StartYears: 1}
	little := fit
	little.BeddingIn, little.BeddingLo95 = 0.02, -0.1
	told := study.Settling{Told: true}
	for _, c := range []struct {
		name string
		fit  study.TrendFit
		of   study.Settling
		want string
	}{
		{"within", fit, told, "In this hip that was about 0.20 mm, mostly within the first year."},
		{"length not told", fit, study.Settling{}, "In this hip that was about 0.20 mm; the films do not tell how long it took, and what came after the first year is in the pace below."},
		{"outlasts", fit, study.Settling{Told: true, InRate: 0.02}, "In this hip that was about 0.20 mm and may have gone on after the first year; what came later is in the pace below."},
		{"too little", little, told, "In this hip it was too little for these films to show."},
		{"late baseline", study.TrendFit{}, told, "Movement is counted from a film taken after that time, so settling was not seen."},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, english(t).settled(&c.fit, c.of)) })
	}
}

func TestPaceIsArithmeticWithItsInterval(t *testing.T) {
	for _, c := range []struct {
		name       string
		mm, lo, hi float64
		want       string
	}{
		{"interval", 1, 0.08, 0.125, "At this pace, 1 mm takes about 8 to 13 years."},
		{"narrow", 2, 0.2, 0.2, "At this pace, 2 mm takes about 10 years."},
		{"open", 1, -0.01, 0.05, "At this pace, 1 mm takes 20 years or longer; how much longer the films cannot tell."},
		{"none", 1, -0.03, -0.01, "The films show no movement inwards, so there is no pace to reckon with."},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want+" A pace can change, so this is arithmetic and no forecast.", english(t).pace(c.mm, c.lo, c.hi))
		})
	}
}
