package source

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Folders come first, then studies and films, numbers by their value; what is hidden or
// no film is left out.
func TestBrowse(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"10.dcm", "9.dcm", "a.linerwatch", "notes.txt", ".dcm", "b10/x", "b9/1.dcm"} {
		p := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(p), 0o700))
		require.NoError(t, os.WriteFile(p, []byte("text"), 0o600))
	}
	require.NoError(t, os.Symlink(filepath.Join(dir, "gone"), filepath.Join(dir, "dangling.dcm")))
	list, err := Browse(context.Background(), dir)
	require.NoError(t, err)
	var names []string
	for _, e := range list {
		names = append(names, fmt.Sprint(e.Name, e.Folder, e.Study))
	}
	require.Equal(t, []string{"b9true false", "b10true false", "a.linerwatchfalse true", "notes.txtfalse false", "9.dcmfalse false", "10.dcmfalse false"}, names)
	films, more := Count(context.Background(), dir)
	require.Equal(t, 4, films, "with the link, of which opening will say what is wrong")
	require.False(t, more)

	_, err = Browse(context.Background(), filepath.Join(dir, "nowhere"))
	require.ErrorIs(t, err, os.ErrNotExist)
	gone, stop := context.WithCancel(context.Background())
	stop()
	_, err = Browse(gone, dir)
	require.ErrorIs(t, err, context.Canceled)
	_, more = Count(gone, dir)
	require.True(t, more)
}

// A picture in colour, as of a chart beside the films, is not counted as a film.
func TestCountLeavesPicturesOut(t *testing.T) {
	dir := t.TempDir()
	for name, img := range map[string]image.Image{"film.png": image.NewGray(image.Rect(0, 0, 4, 4)), "trend.png": image.NewRGBA(image.Rect(0, 0, 4, 4))} {
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, img))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o600))
	}
	films, _ := Count(t.Context(), dir)
	require.Equal(t, 1, films)
}

// A count of a whole disk ends.
func TestCountEnds(t *testing.T) {
	dir := t.TempDir()
	for i := range mostLooked + 100 {
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%d.dcm", i)), nil, 0o600))
	}
	films, more := Count(context.Background(), dir)
	require.True(t, more)
	require.InDelta(t, mostLooked, films, 2)
}
