package patient_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/patient"
	"linerwatch/app/report/reporttest"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// The least that pages have to reach: 60 begins "plain English", which is read in the eighth
// and ninth year of school (Flesch R. How to Write Plain English. 1979, chapter 2), and
// newspapers lie about there.
const leastEase, mostGrade = 60, 9

// prose is what the page says in sentences; headings are none.
func prose(p patient.Page) string {
	var out []string
	for _, b := range append(p.Told, p.Limits) {
		out = append(out, b.Text...)
	}
	return strings.Join(append(append(out, p.First...), p.Pace(2), p.UnderDrawing(patient.InBlack), p.UnderCourse(patient.InBlack)), " ")
}

var (
	ends    = regexp.MustCompile(`[.!?](\s|$)`)
	aWord   = regexp.MustCompile(`[A-Za-zÄÖÜäöüß]+`)
	vowels  = regexp.MustCompile(`[aeiouyäöü]+`)
	silentE = regexp.MustCompile(`[^aeiouyl]e$|[^aeiouydt]ed$|[^aeiouysxzcg]es$`)
)

// measures are words a sentence and syllables a word. Syllables are groups of vowels; of
// English words without an e at the end that is not heard.
func measures(text string, code string) (asl, asw float64) {
	words := aWord.FindAllString(text, -1)
	n := 0
	for _, w := range words {
		w = strings.ToLower(w)
		k := len(vowels.FindAllString(w, -1))
		if code == texts.English && silentE.MatchString(w) {
			k--
		}
		n += max(k, 1)
	}
	return float64(len(words)) / float64(len(ends.FindAllString(text, -1))), float64(n) / float64(len(words))
}

// ease is how easily a text is read: Flesch R. J Appl Psychol 1948;32:221-233, and for German
// Amstad T. Wie verständlich sind unsere Zeitungen? Zürich 1978.
func ease(text, code string) float64 {
	asl, asw := measures(text, code)
	if code == "de" {
		return 180 - asl - 58.5*asw
	}
	return 206.835 - 1.015*asl - 84.6*asw
}

// grade is the year of school of a text in English: Kincaid JP et al. Research Branch Report
// 8-75, 1975.
func grade(text string) float64 {
	asl, asw := measures(text, texts.English)
	return 0.39*asl + 11.8*asw - 15.59
}

// Every page reads at least as easily as a newspaper.
func TestPageReadsEasily(t *testing.T) {
	for _, code := range texts.Codes() {
		worst, hardest := 100., 0.
		for _, c := range reporttest.Cases() {
			h, err := patient.Of(c.Record, study.Anyone, false)
			require.NoError(t, err)
			text := prose(patient.New(h, speech(t, code)))
			worst = min(worst, ease(text, code))
			require.GreaterOrEqual(t, ease(text, code), float64(leastEase), "%s, %s: %s", c.Name, code, text)
			if code == texts.English {
				hardest = max(hardest, grade(text))
				require.LessOrEqual(t, grade(text), float64(mostGrade), c.Name)
			}
		}
		if code == texts.English {
			t.Logf("en: Flesch reading ease at least %.1f; Flesch-Kincaid grade at most %.1f", worst, hardest)
		} else {
			t.Logf("%s: Amstad reading ease at least %.1f", code, worst)
		}
	}
}

// The formulas themselves, of a sentence counted by hand: 6 words, 6 syllables; in German 5
// words, 7 syllables.
func TestReadabilityIsOfTheFormulas(t *testing.T) {
	require.InDelta(t, 206.835-1.015*6-84.6*1, ease("The cat sat on the mat.", "en"), 1e-9)
	require.InDelta(t, 0.39*6+11.8-15.59, grade("The cat sat on the mat."), 1e-9)
	require.InDelta(t, 180-5-58.5*7/5, ease("Die Katze sitzt da drüben.", "de"), 1e-9)
	hard := "Radiographic evaluation of polyethylene liner penetration necessitates consideration of projectional magnification uncertainties."
	require.Less(t, ease(hard, "en"), 0.0, "words of specialists fail")
}
