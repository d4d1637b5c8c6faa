package ui

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"
)

// shelves is a folder with two folders of films, an empty one, a study file and a film.
func shelves(t *testing.T) string {
	dir := t.TempDir()
	for _, name := range []string{"A/1.dcm", "A/2.dcm", "B/deep/1.dcm", "B/text.txt", "film.png", "s.linerwatch", ".hidden/1.dcm"} {
		p := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(p), 0o700))
		require.NoError(t, os.WriteFile(p, []byte("text"), 0o600))
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "C"), 0o700))
	return dir
}

// chooses opens a chooser at a folder.
func (d *desk) chooses(want wanted, dir string, then func([]string)) *chooser {
	c := d.choose("Choose", want, then)
	c.enter(dir)
	d.looks(c)
	return c
}

// looks waits until the folder is listed and its films are counted.
func (d *desk) looks(c *chooser) {
	folders := func() (n int) {
		for _, e := range c.list {
			if e.Folder {
				n++
			}
		}
		return n + 1
	}
	for c.said.Text == "Looking …" || c.fault == nil && len(c.counts) < folders() {
		select {
		case f := <-d.queue:
			f()
		case <-time.After(10 * time.Second):
			d.t.Fatal("the folder was not looked into")
		}
	}
}

func (c *chooser) types(names ...fyne.KeyName) {
	for _, n := range names {
		c.key(&fyne.KeyEvent{Name: n})
	}
}

// Several folders are marked by keys, and opened together.
func TestChooserByKeys(t *testing.T) {
	d := newDesk(t)
	dir := shelves(t)
	var got []string
	c := d.chooses(someFilms, dir, func(paths []string) { got = paths })
	var names, holds []string
	for _, r := range c.table.Rows() {
		names, holds = append(names, r[0].Text), append(holds, r[1].Text)
	}
	require.Equal(t, []string{"A/", "B/", "C/", "s.linerwatch", "film.png"}, names)
	require.Equal(t, []string{"2 films", "1 film", "no films"}, holds[:3])
	require.Equal(t, "Open this folder, 4 films", c.open.Text)
	c.types(fyne.KeyDown)
	require.Equal(t, "Open A, 2 films", c.open.Text)
	c.types(fyne.KeySpace, fyne.KeyDown, fyne.KeySpace)
	require.Equal(t, "Open the 2 marked, 3 films", c.open.Text)
	require.Equal(t, "marked", c.table.Rows()[1][3].Text)
	c.types(fyne.KeyReturn)
	require.Equal(t, []string{filepath.Join(dir, "A"), filepath.Join(dir, "B")}, got)
	require.False(t, d.covered())
}

// A click points, a second one goes in, and a double click goes no deeper than one folder.
func TestChooserByMouse(t *testing.T) {
	d := newDesk(t)
	dir := shelves(t)
	c := d.chooses(someFilms, dir, nil)
	c.clicked(1)
	require.Equal(t, dir, c.dir)
	c.clicked(1)
	d.looks(c)
	require.Equal(t, filepath.Join(dir, "B"), c.dir)
	require.Equal(t, "deep/", c.table.Rows()[0][0].Text)
	c.clicked(0) // the second half of a hasty double click: points only
	require.Equal(t, filepath.Join(dir, "B"), c.dir)
	c.types(fyne.KeyLeft)
	d.looks(c)
	require.Equal(t, dir, c.dir)
}

// A path that is typed is gone to; one that is not there loses nothing.
func TestChooserTyped(t *testing.T) {
	d := newDesk(t)
	dir := shelves(t)
	var got []string
	c := d.chooses(aStudy, dir, func(paths []string) { got = paths })
	require.Len(t, c.table.Rows(), 4, "folders and the study")
	require.True(t, c.open.Disabled())
	c.typed(filepath.Join(dir, "nowhere"))
	require.Contains(t, c.said.Text, "nowhere cannot be looked into: no such file or directory.")
	require.True(t, c.open.Disabled())
	require.Nil(t, got)
	c.typed(filepath.Join(dir, "A"))
	d.looks(c)
	require.Contains(t, c.said.Text, "no study files in here")
	c.typed(dir)
	d.looks(c)
	c.types(fyne.KeyDown, fyne.KeyReturn) // goes into the folder: no study is pointed at
	d.looks(c)
	require.Equal(t, filepath.Join(dir, "A"), c.dir)
	c.types(fyne.KeyLeft)
	d.looks(c)
	c.types(fyne.KeyEnd, fyne.KeyReturn)
	require.Equal(t, []string{filepath.Join(dir, "s.linerwatch")}, got)
}

// A folder is chosen over the dialog that asks for it, which is in front again after.
func TestChooserOverDialog(t *testing.T) {
	d, _ := accepted(t)
	d.saveElsewhere(nil)
	below := d.top().dialog
	c := d.chooses(aFolder, shelves(t), nil)
	require.Len(t, c.table.Rows(), 3, "folders only")
	d.dialogKey(fyne.KeyEscape)
	require.Same(t, below, d.top().dialog)
	require.True(t, d.covered())
}

// What Enter does is said in the word of the button.
func TestChooserSaysOneWord(t *testing.T) {
	d := newDesk(t)
	for want, word := range map[wanted]string{someFilms: "Open", aStudy: "Open", aFolder: "Choose"} {
		c := d.choose("Look", want, func([]string) {})
		d.looks(c)
		require.Contains(t, shownText(d), "Enter "+strings.ToLower(word)+"s.")
		require.Regexp(t, "^"+word, c.open.Text)
		c.dialog.Hide()
	}
}
