// Package raster makes the viewer's picture without a window: a 16-bit film
// resampled to the viewport, taken through a look-up table of grey levels, with
// outlines drawn into it at sub-pixel positions.
//
// A Frame keeps what it made last, so that only what changed is made again:
// panning and zooming resample, a new grey window only looks up, a moved circle
// only redraws. Below 1:1 each view pixel is the mean of the film over its
// footprint, above it is interpolated; nearest-neighbour sampling would move a
// disc's centre by up to half a film pixel.
//
// Film coordinates are those of package measure. View coordinates are pixels of
// the picture, (0, 0) at the corner of the top-left one.
//
//	var f raster.Frame
//	f.SetFilm(img)
//	picture := f.Draw(raster.Scene{Width: 1600, Height: 1000, Zoom: 0.33, Greys: raster.Greys{Center: 2048, Window: 4096}})
package raster
