package ui

import (
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

func shownText(d *desk) (text string) {
	for _, l := range onScreen[*widget.Label](d.win) {
		text += l.Text + "\n"
	}
	return text
}

func TestFilmIsLeftOutByKeysAndTakenBack(t *testing.T) {
	d, dir := proposed(t, series...)
	require.NoError(t, d.s.SetReader("R2"))
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	d.s.Strip().Select(2)
	d.letter('x')
	require.Contains(t, shownText(d), "The number of a reason")
	d.win.Canvas().Focused().TypedRune('3')
	d.drain()
	f := d.s.Strip().Films()[2]
	require.Equal(t, "exposure", f.Excluded.Code)
	require.Equal(t, "left out: exposure", d.films.strip.cards[2].Content().State)
	require.Equal(t, 3, d.s.Strip().SelectedIndex(), "on to the next film")
	require.Equal(t, "Undo: leave out film 3", d.bar.undo.Text)
	d.s.Strip().Select(2)
	d.drain()
	require.Contains(t, d.films.side.message.Text, "Left out of the trend by R2")
	require.True(t, d.films.side.accept.Disabled())
	d.letter('x')
	require.Nil(t, f.Excluded)
}

// patients is a desk on which the film of 2012 is of another patient.
func patients(t *testing.T) *desk {
	d := newDesk(t)
	d.s = session.New(session.Config{Post: func(f func()) { d.queue <- f }, Studies: d.studies(), Detect: detect,
		Open: func(path string) (*dicomio.Film, error) {
			f, err := openFilm(path)
			if err == nil && f.Date.Year() == 2012 {
				f.PatientCode = "T2"
			}
			return f, err
		}})
	d.window = newWindow(fyne.CurrentApp(), d.s, func(f func()) { d.queue <- f })
	return d
}

func TestFilmsOfAnotherPatientWaitAmongTheHips(t *testing.T) {
	d := patients(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	require.Len(t, d.s.Strip().Films(), 3)
	require.Contains(t, d.s.Notice(), "1 film of another patient or side (T2, right) waits among the hips")
	require.Contains(t, shownText(d), "4 files opened.")
	require.Equal(t, "waits: a hip not begun", sortCells(d.s.Intake().Found().Sorts[1])[3].Text)
	d.dialogKey(fyne.KeyReturn)
	d.drain()
	require.Contains(t, shownText(d), "Implant, dates and patient", "the hip is asked next")
	d.fill("2004-01-01", "28", "8")
	d.drain()
	d.key(fyne.KeyF2, false)
	p := of[*hipsPage](d)
	require.Empty(t, p.empty.Text)
	require.Equal(t, "T2", p.table.Rows()[0][0].Text)
	require.Equal(t, "not begun", p.table.Rows()[0][1].Text)
	d.letter('t')
	require.Contains(t, shownText(d), "1 film of T2, right. Take them into the hip that is open now, T1 right, only where their files are wrong")
	d.press("Take into T1 right")
	d.drain()
	require.Len(t, d.s.Strip().Films(), 4)
	require.Empty(t, d.s.Intake().Piles())
}

func TestWrongHeadIsToldBeforeAcceptance(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	d.fill("2004-01-01", "22", "8")
	d.drain()
	require.True(t, d.films.side.doubt.Visible())
	require.Contains(t, d.films.side.doubted.Text, "A 22 mm head would mean")
	require.NoError(t, d.s.SetReader("R2"))
	require.NoError(t, d.create(filepath.Join(t.TempDir(), "s.linerwatch")))
	d.key(fyne.KeyReturn, false)
	require.Empty(t, d.saved(), "asked first")
	require.NotContains(t, shownText(d), "placed by hand")
	d.press("Check the head diameter")
	d.key(fyne.KeyEscape, false)
	d.s.Edits().Grow(1)
	d.key(fyne.KeyReturn, false)
	require.Contains(t, shownText(d), "The head's outline was placed by hand: look first whether it lies on the head's edge.")
	d.press("Check the outline")
	require.False(t, d.covered())
	d.key(fyne.KeyReturn, false)
	d.press("Accept it all the same")
	require.Len(t, d.saved(), 1)
}

func TestPagesTurnByKeys(t *testing.T) {
	d, _ := proposed(t, series...)
	d.letter('p')
	require.True(t, of[*coursePage](d).object.Visible())
	require.False(t, d.films.object.Visible())
	require.Len(t, of[*coursePage](d).models, 5)
	require.Contains(t, of[*coursePage](d).title.Text, "superior 0.100 mm/year")
	of[*coursePage](d).draw(900, 600, 1)
	p := of[*coursePage](d).places.films[2]
	require.True(t, of[*coursePage](d).hover(p.X, p.Y))
	require.Contains(t, of[*coursePage](d).tip.text, "2008-01-01")
	m := of[*coursePage](d).places.markers[0]
	of[*coursePage](d).hover(m.X, m.Y)
	require.Contains(t, of[*coursePage](d).tip.text, "Dumbleton")
	of[*coursePage](d).tap(p.X, p.Y)
	require.Equal(t, 2, d.s.Strip().SelectedIndex())
	require.True(t, d.films.object.Visible())

	d.letter('v')
	require.True(t, of[*patientView](d).object.Visible())
	require.False(t, d.bar.object.Visible(), "nothing of the tool is in the way")
	d.key(fyne.KeyEscape, false)
	require.True(t, d.films.object.Visible())
	require.True(t, d.bar.object.Visible())
}

func TestKeysReachThePageFromItsWidgets(t *testing.T) {
	d, _ := proposed(t, series...)
	d.letter('p')
	d.win.Canvas().Focus(of[*coursePage](d).until)
	of[*coursePage](d).until.TypedKey(&fyne.KeyEvent{Name: fyne.KeyRight})
	tr, err := d.s.Trend()
	require.NoError(t, err)
	require.Equal(t, 9.0, of[*coursePage](d).horizon(tr), "the year after the last film")
	require.Contains(t, of[*coursePage](d).said.Text, "a film taken then would read")
	of[*coursePage](d).until.TypedRune('v')
	require.Equal(t, "For the patient", d.inFront())
	d.key(fyne.KeyEscape, false)
	d.letter('p')
	d.win.Canvas().Focus(of[*coursePage](d).model)
	of[*coursePage](d).model.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.Equal(t, "Read", d.inFront())
}

func TestArithmeticAboutTheFutureIsChosenEachTime(t *testing.T) {
	d, _ := accepted(t)
	d.letter('v')
	require.False(t, of[*patientView](d).pace.Visible())
	of[*patientView](d).ask.SetChecked(true)
	require.Contains(t, of[*patientView](d).pace.Text, "A pace can change")
	d.key(fyne.KeyEscape, false)
	d.letter('v')
	require.False(t, of[*patientView](d).ask.Checked)
	require.False(t, of[*patientView](d).pace.Visible())
}

func TestStartSlidesLive(t *testing.T) {
	d, _ := proposed(t, series...)
	d.letter('p')
	of[*coursePage](d).start.SetValue(2)
	d.drain()
	h, _ := d.s.Hip()
	require.Equal(t, 2.0, h.Start())
	require.Equal(t, 2, of[*coursePage](d).models[0].Films)
	of[*coursePage](d).start.OnChangeEnded(2)
	d.drain()
	require.Equal(t, "start the steady state at year 2", d.s.History().UndoName())
	d.s.History().Undo()
	d.drain()
	h, _ = d.s.Hip()
	require.Equal(t, 1.0, h.Start())
}

func TestPatientIsToldPlainly(t *testing.T) {
	d, _ := accepted(t)
	d.letter('v')
	text := ""
	for _, s := range append(of[*patientView](d).words.Segments, of[*patientView](d).limits.Segments...) {
		text += s.Textual() + "\n"
	}
	require.Contains(t, text, "On 4 X-ray films, taken from February 2004 to January 2012")
	require.Contains(t, text, "0.80 millimetres (mm) from the first film to the last one")
	require.Contains(t, text, "about 0.10 mm a year")
	require.Contains(t, text, "not cleared for diagnosis")
	for _, never := range []string{"fail", "risk", "safe", "should", "recommend", "replace", "revision"} {
		require.NotContains(t, text, never)
	}
	require.False(t, of[*patientView](d).pace.Visible(), "no arithmetic unless asked for")
}

func TestEvidenceStripTakesPointsOut(t *testing.T) {
	d, _ := proposed(t, series...)
	f := d.s.Strip().Selected()
	o := f.Draft.Head.Fit
	for i, p := range o.Points {
		o.Edges = append(o.Edges, edgeAt(p.X, p.Y, float64(i*10)))
	}
	f.Draft.Head.Fit = o
	d.letter('e')
	require.True(t, d.films.proof.object.Visible())
	require.False(t, d.films.trend.object.Visible())
	d.films.proof.draw(800, 200, 1)
	require.Contains(t, d.films.proof.title.Text, "head: 36 of 36 points kept")
	x, y := d.films.proof.strip.Place(d.films.proof.strip.Points[4])
	require.True(t, d.films.proof.hover(x, y))
	require.Contains(t, d.films.proof.said.Text, "kept, residual")
	d.films.proof.tap(x, y)
	d.drain()
	require.Contains(t, d.films.proof.title.Text, "head: 35 of 36 points kept")
	a, _ := d.films.proof.strip.Place(d.films.proof.strip.Points[20])
	b, _ := d.films.proof.strip.Place(d.films.proof.strip.Points[25])
	d.films.proof.dragged(a-2, y)
	d.films.proof.dragged(b+2, y)
	d.films.proof.dropped()
	d.drain()
	require.Contains(t, d.films.proof.title.Text, "head: 29 of 36 points kept")
	require.Contains(t, d.bar.undo.Text, "Undo: leave out head edge")
	d.letter('e')
	require.True(t, d.films.trend.object.Visible())
}

func TestTrendPageWithoutATrendSaysWhyAndHidesItsChoices(t *testing.T) {
	d, _ := proposed(t, "2013-02-01.dcm") // whose film shows no hip
	d.letter('p')
	d.drain()
	require.Equal(t, "Trend", d.inFront())
	require.Equal(t, "There is no trend yet: no film is outlined yet.\nEscape goes back to the films.", of[*coursePage](d).empty.Text)
	require.False(t, of[*coursePage](d).choices.Visible())
	require.False(t, of[*coursePage](d).said.Visible())
}

// A scan that does not say when it was taken has its date one press away.
func TestFilmWithoutADateAsksForIt(t *testing.T) {
	d, _ := proposed(t, series...)
	require.False(t, d.films.side.date.Visible())
	d.s.Strip().Selected().Facts.Date = time.Time{}
	d.films.side.show()
	require.True(t, d.films.side.date.Visible())
	d.press("Enter the film's date")
	entry, ok := d.win.Canvas().Focused().(*field)
	require.True(t, ok, "the date can be typed at once")
	entry.OnSubmitted("2004-03-01")
	require.Contains(t, shownText(d), "the file gives the date 2004-02-01", "it is asked of the film")
}

func TestFilmThatSpoilsTheSeriesCanBeTakenOut(t *testing.T) {
	d, _ := proposed(t, "2001-01-01.dcm", "2004-02-01.dcm", "2005-01-01.dcm")
	tr, err := d.s.Trend()
	require.NoError(t, err, "the others have theirs")
	require.Contains(t, study.NoteWords(tr.Warnings[0]), "film 1, which nobody has accepted", "the film before surgery is named")
	d.s.Strip().Select(1)
	d.drain()
	require.False(t, d.films.side.remove.Visible(), "another film is to blame")
	d.s.Strip().Select(0)
	d.drain()
	d.press("Take out of the strip")
	d.drain()
	require.Len(t, d.s.Strip().Films(), 2)
	require.Empty(t, d.films.trend.empty.Text)
	require.False(t, d.films.side.remove.Visible())
}
