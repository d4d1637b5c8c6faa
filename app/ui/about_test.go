package ui

import (
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/assets"
)

// About is reached from the list of keys, and shows the text of the module that is chosen.
func TestAboutTellsVersionAndLicences(t *testing.T) {
	d := newDesk(t)
	d.letter('?')
	d.press("About Linerwatch")
	require.Contains(t, shownText(d), "Linerwatch "+d.s.Book().Program()+"\n")
	text := onScreen[*widget.TextGrid](d.win)[0]
	require.Contains(t, text.Text(), "art supplied by EmojiOne")
	at := slices.IndexFunc(assets.AllNotices(), func(n assets.Notice) bool { return strings.HasPrefix(n.Of, "modernc.org/sqlite ") })
	onScreen[*widget.List](d.win)[0].Select(at + 1) // after the acknowledgements
	require.Contains(t, text.Text(), "SQLite")
	require.NotContains(t, text.Text(), "EmojiOne")
}
