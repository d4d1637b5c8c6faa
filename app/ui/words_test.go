package ui

import (
	"context"
	"image"
	"io/fs"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// A film by whose spacing it would be metres wide has its spacing doubted, and not the head.
func TestSpacingThatCannotBeIsDoubted(t *testing.T) {
	d := newDesk(t)
	d.set(func(path string) (*dicomio.Film, error) {
		f, err := openFilm(path)
		if err == nil {
			f.Geometry = dicomio.Geometry{Imager: [2]float64{14.8, 14.8}}
		}
		return f, err
	}, func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error) {
		return nil, &measure.Refusal{Reason: study.Note{Text: "the film shows no hip"}}
	}, d.studies())
	d.add([]string{filmsIn(t, series[0])})
	d.drain()
	d.fill("2004-01-01", "28", "8")
	d.drain()
	require.Contains(t, d.films.side.message.Text, "The file states 14.8 mm a pixel")
	require.NotContains(t, d.films.side.message.Text, "is that its diameter")
}

// Before implant and dates are entered Enter asks for them, and 2 says why there is nothing.
func TestKeysBeforeTheHipIsEntered(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	d.press("Later")
	require.False(t, d.asking)
	d.letter('2')
	require.Equal(t, "Nothing is looked for before implant and dates are entered.", d.s.Notice())
	d.key(fyne.KeyReturn, false)
	require.True(t, d.asking)
}

// A study that has gone is told in plain words, and nothing is said of a file that is not
// there.
func TestStudyThatHasGoneIsTold(t *testing.T) {
	d := newDesk(t)
	path := filepath.Join(t.TempDir(), "gone"+study.FileExt)
	d.askOther(path, &fs.PathError{Op: "stat", Path: path, Err: fs.ErrNotExist})
	require.Contains(t, shownText(d), path+": there is no such file any more.")
	require.NotContains(t, shownText(d), "stat ")
	require.NotContains(t, shownText(d), "as it was")
}

// What could not be read was not opened.
func TestFilesThatCannotBeReadAreNotOpened(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series[0], series[1], "torn.dcm", "worn.dcm")})
	d.drain()
	require.Contains(t, shownText(d), "2 files opened. 2 could not be read.")
}

// What the reader was told is whole in a narrow window; where readings are kept gives way,
// unless they are not kept.
func TestNoticeIsWhole(t *testing.T) {
	d := newDesk(t)
	wide := func(l *widget.Label) bool { return l.Size().Width >= widget.NewLabel(l.Text).MinSize().Width }
	l := d.status
	for len(l.where.Text) < 40 {
		l.where.Text += " and more"
	}
	l.line.Resize(fyne.NewSize(660, 36))
	d.s.Say("Saved. Every film of this hip is read, and here is what to do next.")
	l.notice.SetText(d.s.Notice())
	l.line.Refresh()
	require.True(t, wide(l.notice))
	require.False(t, wide(l.where))
	l.where.SetText("s.linerwatch has gone: " + notSaved())
	l.line.Refresh()
	require.True(t, wide(l.where))
	d.s.Say("")
	l.where.SetText("s.linerwatch and a long name of it · reader R2")
	l.line.Refresh()
	require.True(t, wide(l.where), "a hint gives way")
}
