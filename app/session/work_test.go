package session

import (
	"context"
	"image"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
)

func TestSelectedFilmIsSearchedBeforeThoseInLine(t *testing.T) {
	b := newBench(t)
	b.Viewer().SetViewport(800, 600, 1)
	dir := t.TempDir()
	var paths []string
	for _, d := range dates {
		paths = append(paths, touch(t, dir, d+".dcm"))
	}
	b.strip.Add(paths)
	b.drain()
	begun, goOn := make(chan string, 10), make(chan struct{})
	b.cfg.Detect = func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		begun <- nameOf(img)
		<-goOn
		return b.detect(ctx, img, opt)
	}
	require.NoError(t, b.SetHip(hip()))
	slots := min(runtime.NumCPU(), jobsAtOnce)
	first := map[string]bool{}
	for range slots {
		first[<-begun] = true
	}
	require.True(t, first["2004-03-01.dcm"], "the film shown, and then in date order")
	var waiting []*Film
	for i, f := range b.strip.Films() {
		require.Equal(t, Searching, f.State())
		require.Equal(t, i < slots, f.InHand(), "film %d", i+1)
		if i >= slots {
			waiting = append(waiting, f)
		}
	}
	if len(waiting) > 1 {
		b.strip.Select(4)
		goOn <- struct{}{}
		b.one()
		require.Equal(t, "2014-01-01.dcm", <-begun, "the film that is shown now jumps the line")
		require.True(t, b.strip.Films()[4].InHand())
	}
	close(goOn)
	b.drain()
	for _, f := range b.strip.Films() {
		require.Equal(t, Proposed, f.State())
		require.False(t, f.InHand())
	}
}
