package ui

import (
	"image"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// copied is a desk whose films are files, with the page of copies in front.
func copied(t *testing.T) (*desk, *copiesPage, string) {
	d, dir := proposed(t, series...)
	for _, f := range d.s.Strip().Films() {
		film, err := openFilm(f.Path)
		require.NoError(t, err)
		film.Photometric = "MONOCHROME2"
		require.NoError(t, dicomio.WriteFile(f.Path, film))
	}
	d.key(fyne.KeyF6, false)
	p := of[*copiesPage](d)
	d.drainUntil(func() bool { return p.c.Front().Picture != nil })
	return d, p, dir
}

// Every film is looked at before any copy is written, and what is marked is black in it.
func TestCopiesAreLookedAtAndWritten(t *testing.T) {
	d, p, _ := copied(t)
	require.True(t, p.object.Visible())
	n := len(d.s.Strip().Films())
	require.Len(t, p.c.Films(), n)
	require.True(t, p.write.Disabled())
	require.Contains(t, p.said.Text, "not looked at yet")
	for range n - 1 {
		d.key(fyne.KeyPageDown, false)
		d.drainUntil(func() bool { return p.c.Front().Picture != nil })
	}
	require.False(t, p.write.Disabled())
	require.True(t, p.after.Disabled())

	p.picture.OnDrag(image.Rect(9, 12, 3, 4))
	d.drain()
	require.Contains(t, p.places.Text, "Made black: 1.")
	dir := t.TempDir()
	p.key.SetText(filepath.Join(dir, "k"))
	p.out.SetText(filepath.Join(dir, "out"))
	d.press("Write copies")
	d.drain()
	films, err := p.c.Result()
	require.NoError(t, err)
	require.Len(t, films, n)
	require.Contains(t, p.said.Text, "written")
	last, err := dicomio.Open(films[n-1].Written)
	require.NoError(t, err)
	was, err := dicomio.Open(films[n-1].Film)
	require.NoError(t, err)
	for y := range 14 {
		for x := range 11 {
			want := was.Pixels.Gray16At(x, y).Y
			if x >= 3 && x < 9 && y >= 4 && y < 12 {
				want = 0
			}
			require.Equal(t, want, last.Pixels.Gray16At(x, y).Y)
		}
	}
	key, err := os.ReadFile(filepath.Join(dir, "k"))
	require.NoError(t, err)
	require.Contains(t, string(key), "\n"+films[0].Of+"\t"+films[0].Patient+"\t")
}

// What cannot be done is told, and nothing is written.
func TestCopiesAreRefused(t *testing.T) {
	d, p, dir := copied(t)
	for range len(p.c.Films()) - 1 {
		d.key(fyne.KeyPageDown, false)
		d.drainUntil(func() bool { return p.c.Front().Picture != nil })
	}
	d.press("Write copies")
	d.drain()
	require.Equal(t, "Not done: no key file is named.", p.said.Text)
	p.key.SetText(filepath.Join(dir, "k"))
	p.out.SetText(dir)
	d.press("Write copies")
	d.drain()
	require.Contains(t, p.said.Text, "Not done: the key file")
	require.NoFileExists(t, filepath.Join(dir, "k"))
}

// A key and copies go where their names say, from whatever folder the program was started,
// and not below the originals.
func TestCopiesGoWhereTheyAreSent(t *testing.T) {
	d, p, dir := copied(t)
	for range len(p.c.Films()) - 1 {
		d.key(fyne.KeyPageDown, false)
		d.drainUntil(func() bool { return p.c.Front().Picture != nil })
	}
	out := filepath.Join(t.TempDir(), "out")
	for said, names := range map[string][2]string{
		"Not done: name k with the whole folder that it is in.":       {"k", out},
		"Not done: name out with the whole folder that it is in.":     {filepath.Join(t.TempDir(), "k"), "out"},
		"Not done: " + filepath.Join(dir, "copies") + " is in " + dir: {filepath.Join(t.TempDir(), "k"), filepath.Join(dir, "copies")},
	} {
		p.key.SetText(names[0])
		p.out.SetText(names[1])
		d.press("Write copies")
		d.drain()
		require.Contains(t, p.said.Text, said)
	}
	require.NoFileExists(t, "k")
	require.NoDirExists(t, filepath.Join(dir, "copies"))
	d.win.Canvas().Focus(p.key)
	p.key.TypedKey(&fyne.KeyEvent{Name: fyne.KeyF2})
	require.True(t, of[*hipsPage](d).object.Visible(), "a field leaves pages their keys")
}

// A scan is not announced as one that is written.
func TestCopiesOfScansAreNotAnnounced(t *testing.T) {
	_, p, _ := copied(t)
	require.Contains(t, p.title.Text, "as it is written")
	p.c.Front().Unfit = true
	p.show()
	require.Contains(t, p.title.Text, "which is not written")
	require.Contains(t, p.places.Text, "only DICOM films say whose they are")
}

// A click turns a part that was found, and takes one of the reader's away.
func TestCopiesToggle(t *testing.T) {
	_, p, _ := copied(t)
	p.picture.OnDrag(image.Rect(3, 4, 9, 12))
	n := len(p.c.Front().Places)
	p.picture.OnTap(image.Pt(5, 5))
	require.Len(t, p.c.Front().Places, n-1)
	p.picture.OnTap(image.Pt(-5, 5))
	require.Len(t, p.c.Front().Places, n-1)
}
