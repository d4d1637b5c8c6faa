package ui

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/paper/papertest"
)

// pageText is the text of a PDF.
func pageText(t *testing.T, file string) string {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	pages, err := papertest.Pages(data)
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	return strings.Join(strings.Fields(strings.Join(pages, " ")), " ")
}

// What is printed says what the window shows, in the language that is chosen, and is written
// over only when that is said.
func TestPatientPageIsPrintedAsShown(t *testing.T) {
	d, dir := accepted(t)
	d.letter('v')
	p := of[*patientView](d)
	file := filepath.Join(dir, "p.pdf")
	ask := d.askPrint(forPatient, "en", 0)
	h, _ := d.s.Hip()
	require.Equal(t, filepath.Join(dir, "s-"+h.ID+"-patient.pdf"), ask.file.Text)
	ask.file.SetText(file)
	ask.clinic.SetText("A clinic")
	ask.whom.SetText("the desk")
	ask.write.OnTapped()
	require.Contains(t, ask.said.Text, "Written to "+file)
	text := pageText(t, file)
	for _, b := range append(p.page.Told, p.page.Limits) {
		for _, said := range b.Text {
			require.Contains(t, text, said)
		}
	}
	require.Contains(t, text, "A clinic")
	require.Contains(t, text, "Ask the desk.")
	require.NotContains(t, text, "At this pace")

	ask.language.SetSelected("Deutsch")
	ask.paceMM = 2
	ask.write.OnTapped()
	require.Contains(t, ask.said.Text, "there is such a file already")
	require.Equal(t, text, pageText(t, file))
	require.Equal(t, say("printing.write-over"), ask.write.Text)
	ask.write.OnTapped()
	require.Contains(t, pageText(t, file), "Was gemessen wurde")
	require.Contains(t, pageText(t, file), "Bei diesem Tempo")
	require.Equal(t, say("printing.write"), ask.write.Text)
	require.Equal(t, "A clinic", d.s.Print().Clinic, "is remembered")
	require.Equal(t, "de", d.s.Print().Language)
}

// The page is shown in another language, with the same numbers.
func TestPatientPageInAnotherLanguage(t *testing.T) {
	d, _ := accepted(t)
	d.letter('v')
	p := of[*patientView](d)
	p.language = "de"
	p.show()
	require.Contains(t, p.said(), "Auf 4 Röntgenbildern, von Februar 2004 bis Januar 2012,")
	require.Contains(t, p.said(), "0,80 Millimeter (mm) von dem ersten Bild bis zum letzten")
	require.Contains(t, p.said(), "Grüne Linie: das Tempo")
}

func TestReaderReportIsPrinted(t *testing.T) {
	d, dir := accepted(t)
	ask := d.askPrint(forReaders, "en", 0)
	file := filepath.Join(dir, "r.pdf")
	ask.file.SetText(file)
	ask.write.OnTapped()
	d.drain()
	require.Contains(t, ask.said.Text, "Written to "+file)
	text := pageText(t, file)
	require.Contains(t, text, "Reader's report")
	require.Contains(t, text, "counts")
	require.Equal(t, 4, strings.Count(text, "read by "))
}

// Of what nobody has accepted nothing is printed.
func TestNothingAcceptedIsNotPrinted(t *testing.T) {
	d, dir := proposed(t, series...)
	for _, what := range []printed{forPatient, forReaders} {
		ask := d.askPrint(what, "en", 0)
		ask.file.SetText(filepath.Join(dir, "x.pdf"))
		ask.write.OnTapped()
		d.drain()
		require.Contains(t, ask.said.Text, "Not written: ")
	}
	require.NoFileExists(t, filepath.Join(dir, "x.pdf"))
}
