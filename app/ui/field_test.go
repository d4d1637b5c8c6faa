package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/require"
)

func TestEscapePutsBackAndLeavesAField(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	c := d.win.Canvas()
	e := onScreen[*field](d.win)[0]
	c.Focus(e)
	test.Type(e, "9")
	require.NotEqual(t, "T1", e.Text)
	e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.Equal(t, "T1", e.Text, "what stood there before")
	require.Nil(t, c.Focused())
	require.True(t, d.covered(), "the form stays")
	d.key(fyne.KeyEscape, false)
	require.False(t, d.covered(), "Escape out of a field closes it")
}

// A dialog in which nothing was typed is closed by the first Escape.
func TestEscapeClosesAnUntouchedDialog(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	e := onScreen[*field](d.win)[0]
	d.win.Canvas().Focus(e)
	e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.False(t, d.covered())

	d.askHip()
	e = onScreen[*field](d.win)[2]
	d.win.Canvas().Focus(e)
	test.Type(e, "2")
	other := onScreen[*field](d.win)[0]
	d.win.Canvas().Focus(other)
	other.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.True(t, d.covered(), "another field holds what was typed")
	require.Nil(t, d.win.Canvas().Focused())
}

func TestBoxesKeepTheFocusAndPassKeysOn(t *testing.T) {
	d, _ := proposed(t, series...)
	d.letter('p')
	c := d.win.Canvas()
	box := of[*coursePage](d).markers
	test.Tap(box)
	require.False(t, box.Checked)
	require.Same(t, box, c.Focused())
	box.TypedRune(' ')
	require.True(t, box.Checked)
	require.Same(t, box, c.Focused())
	box.TypedKey(&fyne.KeyEvent{Name: fyne.KeyF3})
	require.Equal(t, "Hip", d.inFront(), "keys of the page still turn pages")
}
