package ui

import (
	"image"
	"image/color"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/report/patient"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// The patient's page and the trend say the same of how long settling took.
func TestPatientPageSettlesAsTheTrendDoes(t *testing.T) {
	d, _ := accepted(t)
	tr, err := d.s.Course().Accepted()
	require.NoError(t, err)
	require.True(t, tr.Fit.HasBedding)
	require.False(t, tr.Settling().Told, "four films do not tell it")
	d.letter('v')
	p := of[*patientView](d)
	require.NotContains(t, p.said(), "mostly within")
	require.NotContains(t, p.said(), "the time of settling")
	require.Less(t, paneled(drawPlain(tr, p.page, 400, 300, 1)), 0.03, "the grid alone")

	require.NoError(t, d.s.SetBaseline(d.s.Strip().Films()[2].ID))
	d.drain()
	tr, err = d.s.Course().Accepted()
	require.NoError(t, err)
	require.False(t, tr.Fit.HasBedding)
	require.Contains(t, p.said(), "settling was not seen")
	require.True(t, tr.Settling().Bounded(tr.Fit), "by its start, but nobody has seen it")
	require.NotContains(t, p.said(), "Grey: the time of settling.")
	require.Less(t, paneled(drawPlain(tr, p.page, 400, 300, 1)), 0.03, "the grid alone")
}

// On a large window the letters of the page are larger, and on a small one again small.
func TestPatientPageGrowsWithTheWindow(t *testing.T) {
	d, _ := accepted(t)
	d.letter('v')
	p := of[*patientView](d)
	height := func(width float32) float32 {
		d.win.Resize(fyne.NewSize(width, width*9/16))
		return p.title.MinSize().Height
	}
	small := height(1280)
	require.Greater(t, height(2560), 1.5*small)
	require.Equal(t, small, height(1280))
}

// paneled is the share of a picture in the colour of the grid and of the shade.
func paneled(img image.Image) float64 {
	b, n := img.Bounds(), 0
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if color.RGBAModel.Convert(img.At(x, y)) == color.Color(widgets.Panel) {
				n++
			}
		}
	}
	return float64(n) / float64(b.Dx()*b.Dy())
}

// said is all that the patient page says.
func (p *patientView) said() string {
	text := p.title.Text + "\n" + p.under.Text + "\n" + p.below.Text + "\n"
	for _, segments := range [][]widget.RichTextSegment{p.words.Segments, p.limits.Segments} {
		for _, s := range segments {
			text += s.(*widget.TextSegment).Text + "\n"
		}
	}
	return text
}

// The page gives no advice, no date of failure, no risk and no verdict.
func TestPatientPageGivesNoVerdict(t *testing.T) {
	d, _ := accepted(t)
	d.s.Strip().Films()[2].Excluded = &study.Exclusion{FilmID: d.s.Strip().Films()[2].ID, Code: "projection"}
	d.s.Course().TryStart(0.5)
	d.letter('v')
	text := of[*patientView](d).said()
	require.Contains(t, text, "On 3 X-ray films")
	require.Contains(t, text, "One film was left out.")
	require.Contains(t, text, "not cleared for diagnosis")
	require.NotRegexp(t, regexp.MustCompile(`(?i)risk|fail|revis|replace|should|must|safe|normal|good|bad|danger|%`), text)
}

// Nothing that nobody has accepted is shown as measured.
func TestPatientPageShowsAcceptedReadingsOnly(t *testing.T) {
	d, dir := proposed(t, series...)
	d.letter('v')
	p := of[*patientView](d)
	require.Contains(t, p.said(), "There is no measurement to show yet: no reading has been accepted. 4 films wait for a clinician to check their marks")
	require.NotContains(t, p.said(), " mm")
	require.Empty(t, p.under.Text+p.below.Text)
	require.True(t, blankPicture(p.drawLiner(300, 300, 1)))
	require.True(t, blankPicture(p.drawCourse(300, 300, 1)))
	require.False(t, p.ask.Visible())

	require.NoError(t, d.s.SetReader("R2"))
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	d.s.Strip().Select(0)
	require.NoError(t, d.s.Accept())
	d.drain()
	require.Contains(t, p.said(), "On one X-ray film, taken in February 2004")
	require.Contains(t, p.said(), "3 more films wait")
	require.Contains(t, p.said(), "Blue-grey: the ball.\n", "no movement is drawn, and none is named")
	for _, i := range []int{1, 3} {
		d.s.Strip().Select(i)
		require.NoError(t, d.s.Accept())
	}
	d.s.Edits().Nudge(0, 20) // the last film, after it was accepted
	d.drain()
	require.Contains(t, p.said(), "On 3 X-ray films, taken from February 2004 to January 2012,")
	require.Contains(t, p.said(), "0.80 millimetres (mm) from the first film to the last one")
	d.s.History().Undo()
	d.s.History().Undo()
	d.drain()
	require.Contains(t, p.said(), "On 2 X-ray films", "the acceptance was withdrawn")
}

func blankPicture(img image.Image) bool {
	b, first := img.Bounds(), img.At(0, 0)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if img.At(x, y) != first {
				return false
			}
		}
	}
	return true
}

// The page names what it draws, and no more.
func TestPatientPageNamesWhatItDraws(t *testing.T) {
	d, _ := accepted(t)
	d.letter('v')
	p := of[*patientView](d)
	require.Contains(t, p.said(), "Cream: the plastic lining.")
	h, _ := d.s.Hip()
	h.Implant.LinerMM = 0
	require.NoError(t, d.s.SetHip(h))
	d.drain()
	require.NotContains(t, p.said(), "Cream")
	require.NotContains(t, colorsOf(p.drawLiner(300, 300, 1)), color.RGBA(widgets.Plastic))

	tr, err := d.s.Course().Accepted()
	require.NoError(t, err)
	for _, films := range [][]int{{0, 1, 3}, {0, 1}, {1, 2}} { // with a band of two readings; no line
		c := tr
		c.Films = nil
		for _, i := range films {
			c.Films = append(c.Films, tr.Films[i])
		}
		c, err := study.NewTrend(tr.Hip, c.Films)
		require.NoError(t, err)
		words := patient.New(patient.Hip{Hip: c.Hip, Trend: c}, speechOf("en"))
		img, under := drawPlain(c, words, 400, 300, 1), words.UnderCourse(patient.InColour)
		require.Equal(t, slices.Contains(colorsOf(img), widgets.Tint), strings.Contains(under, "green band"), films)
		require.Equal(t, slices.Contains(colorsOf(img), widgets.Teal), strings.Contains(under, "Green line"), films)
	}
}

// colorsOf returns every colour of a picture.
func colorsOf(img image.Image) []color.RGBA {
	seen := map[color.RGBA]bool{}
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			seen[color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)] = true
		}
	}
	return slices.Collect(maps.Keys(seen))
}

// Words, curve and baseline go by one film; a part that goes up is told where it is not
// all of the movement.
func TestPatientPageNumbersAgree(t *testing.T) {
	d, _ := accepted(t)
	require.NoError(t, d.s.SetBaseline(d.s.Strip().Films()[1].ID))
	d.letter('v')
	text := of[*patientView](d).said()
	require.Contains(t, text, "0.70 millimetres (mm) from the film of January 2005 to the last one")
	require.Contains(t, text, "where it was on the film of January 2005")
	require.Contains(t, text, "Counted from the film of January 2005.")
	require.NotContains(t, text, "first film")
	require.NotContains(t, text, "part of it that goes up")

	require.NoError(t, d.s.SetBaseline(d.s.Strip().Films()[3].ID))
	d.drain()
	require.Contains(t, of[*patientView](d).said(), "Movement is counted from the last film here.")
}

// What is told anew while the page is in front keeps to its width, in the letters of the page.
func TestPatientPageBreaksItsLinesAnew(t *testing.T) {
	d, _ := accepted(t)
	d.letter('v')
	p := of[*patientView](d)
	for _, text := range []*widget.RichText{p.words, p.limits} {
		p.show()
		size := text.MinSize()
		require.Positive(t, size.Height)
		text.Refresh() // measures it by the letters that it was shown in
		require.Equal(t, text.MinSize(), size)
	}
}

// A head diameter that implies an implausible magnification is said wherever numbers rest on
// it, also where the reader accepted it so.
func TestDoubtfulScaleIsSaidOnEveryPage(t *testing.T) {
	d := newDesk(t)
	dir := filmsIn(t, series...)
	d.add([]string{dir})
	d.drain()
	d.fill("2004-01-01", "44", "8")
	d.drain()
	require.NoError(t, d.s.SetReader("R2"))
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	for i := range series {
		d.s.Strip().Select(i)
		require.NoError(t, d.s.Accept())
	}
	d.drain()
	const said = "4 readings of an implausible magnification: check the head diameter"
	d.letter('p')
	require.Contains(t, of[*coursePage](d).said.Text, said)
	d.letter('v')
	require.Contains(t, of[*patientView](d).said(), "Not to be relied on yet")
	d.key(fyne.KeyEscape, false)
	d.key(fyne.KeyF3, false)
	d.drain()
	require.Contains(t, of[*hipPage](d).missing.Text, "To settle\n– "+said)
	d.key(fyne.KeyF2, false)
	d.look()
	cells := hipCells(of[*hipsPage](d).rows[0])
	require.Equal(t, said, cells[len(cells)-1].Text)
}
