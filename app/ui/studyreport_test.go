package ui

import (
	"bytes"
	"errors"
	"image/png"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/app/findings"
	"linerwatch/app/report"
)

// The window and the command write the same report of a study.
func TestWindowAndCommandReportTheSame(t *testing.T) {
	dir := t.TempDir()
	d := reading(t, dir, "T1", series, nil)
	path := filepath.Join(dir, "s.linerwatch")
	require.NoError(t, d.s.SetReader("R1"))
	require.NoError(t, d.create(path))
	d.acceptAs("R1", 0, 1)

	var faults []error
	write := func(to string, over report.Over) (said string) {
		d.report(filepath.Join(dir, to), over, findings.ByHead, speechOf("en"), func(text string, err error) { said, faults = text, append(faults, err) })
		d.drain()
		return said
	}
	require.Contains(t, write("w.html", report.KeepOld), "w.html")
	require.NoError(t, faults[0])
	now := d.s.Book().Stamp()
	var out, errs bytes.Buffer
	require.Equal(t, 0, cli.Run(t.Context(), []string{"report", "study", path, "--by", "head", "--out", filepath.Join(dir, "c.html")},
		cli.Env{Stdout: &out, Stderr: &errs, Studies: files, Version: now.Version, Now: func() time.Time { return now.At }}), errs.String())
	window, err := os.ReadFile(filepath.Join(dir, "w.html"))
	require.NoError(t, err)
	command, err := os.ReadFile(filepath.Join(dir, "c.html"))
	require.NoError(t, err)
	require.Equal(t, string(command), string(window))

	require.Empty(t, write("w.html", report.KeepOld))
	require.ErrorIs(t, faults[1], os.ErrExist)
	require.NotEmpty(t, write("w.html", report.Replace))
	require.Empty(t, write("w.txt", report.KeepOld))
	require.ErrorContains(t, faults[3], "FILE.pdf or FILE.html")
	d.askReport()
	require.Contains(t, shownText(d), "Compare hips by")
}

// The other button saves what a chart shows, and the file's name can be pasted.
func TestPictureIsSaved(t *testing.T) {
	dir := t.TempDir()
	d := reading(t, dir, "T1", series, nil)
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	d.look()
	chart := d.films.trend.chart
	img := chart.Picture(pictureTimes)
	require.NotNil(t, img)
	path := filepath.Join(dir, "p.png")
	var ended []string
	for range 2 {
		to := d.askPicture("-trend", img)
		to.dir.SetText(path)
		to.write.OnTapped()
		ended = append(ended, to.said.Text)
	}
	require.Equal(t, "Written to "+path+". Its name is on the clipboard.", ended[0])
	require.Contains(t, ended[1], "there is such a file already")
	require.Equal(t, path, fyne.CurrentApp().Clipboard().Content())
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	saved, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	require.Equal(t, img.Bounds().Size(), saved.Bounds().Size())
	require.Nil(t, d.askPicture("-trend", nil))
}

// The other button copies what a chart shows, as it says, or says why it cannot.
func TestPictureIsCopied(t *testing.T) {
	dir := t.TempDir()
	d := reading(t, dir, "T1", series, nil)
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	d.look()
	chart := d.films.trend.chart
	var clipped []byte
	d.clip = func(b []byte) error { clipped = b; return nil }
	d.pictureItems(chart, "-trend")[0].Action()
	img, err := png.Decode(bytes.NewReader(clipped))
	require.NoError(t, err)
	require.Equal(t, chart.Picture(pictureTimes).Bounds().Size(), img.Bounds().Size())
	require.Contains(t, d.s.Notice(), "The picture is on the clipboard")
	d.clip = func([]byte) error { return errors.New("no display") }
	d.pictureItems(chart, "-trend")[0].Action()
	require.Contains(t, d.s.Notice(), "Not copied: no display.")
	d.clip = func(b []byte) error { clipped = b; return nil }
	d.copyPicture(nil)
	require.Contains(t, d.s.Notice(), "There is no picture")
}

// Ctrl+P prints what is in front.
func TestPrintIsOfThePageInFront(t *testing.T) {
	d, _ := accepted(t)
	for _, c := range []struct {
		turns func()
		asks  string
	}{{func() { d.key(fyne.KeyF2, false) }, "Compare hips by"}, {func() { d.letter('p') }, "Ask"}, {func() { d.key(fyne.KeyF8, false) }, "Compare hips by"}, {func() { d.letter('v') }, "Ask"}} {
		c.turns()
		d.print()
		require.Contains(t, shownText(d), c.asks)
		for l := d.top(); l.dialog != nil; l = d.top() {
			l.dialog.Hide()
		}
	}
}

// Pages with a chart hand it out, and one without has none to copy.
func TestPagesHandTheirChartOut(t *testing.T) {
	d, _ := accepted(t)
	var clipped int
	d.clip = func(b []byte) error { clipped = len(b); return nil }
	offered := func() {
		var labels []string
		for _, b := range onScreen[*widget.Button](d.win) {
			labels = append(labels, b.Text)
		}
		require.Subset(t, labels, []string{say("button.copy-picture"), say("button.save-picture"), say("page.patient.print")})
	}
	d.letter('p')
	p := of[*coursePage](d)
	offered()
	p.chart.Resize(fyne.NewSize(300, 200))
	d.pictureItems(p.chart, "-trend")[0].Action()
	require.NotZero(t, clipped)
	clipped = 0
	d.key(fyne.KeyF8, false)
	d.drain()
	a := of[*agreementPage](d)
	d.drainUntil(func() bool { return a.shown == a.asked })
	offered()
	require.False(t, a.chart.Visible(), "one reader alone")
	d.pictureItems(a.chart, "-agreement")[0].Action()
	require.Zero(t, clipped)
	require.Contains(t, d.s.Notice(), "There is no picture")
}
