package session

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A viewer that grows and comes back, in other proportions, shows again what it showed.
func TestViewComesBackWithTheSizeOfTheViewer(t *testing.T) {
	b := opened(t)
	v := b.Viewer()
	v.SetViewport(760, 420, 1)
	v.ShowHip()
	was := b.strip.Selected().Camera
	v.SetViewport(2000, 800, 1)
	require.InDelta(t, was.Zoom*800/420, b.strip.Selected().Camera.Zoom, 1e-9)
	v.SetViewport(1000, 900, 1)
	v.SetViewport(760, 420, 1)
	now := b.strip.Selected().Camera
	require.InDelta(t, was.Zoom, now.Zoom, 1e-9)
	require.InDelta(t, was.X, now.X, 1e-6)
	require.InDelta(t, was.Y, now.Y, 1e-6)
	v.SetViewport(1000, 900, 1)
	v.ZoomBy(2)
	moved := b.strip.Selected().Camera
	v.SetViewport(760, 420, 1)
	v.SetViewport(1000, 900, 1)
	require.InDelta(t, moved.Zoom, b.strip.Selected().Camera.Zoom, 1e-9, "from what was chosen last")
}
