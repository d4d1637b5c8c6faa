package phantom

import "math"

// markerStrokes returns the strokes of a lead letter R that lies on the detector
// beside the patient's right thigh, as segments in mm on the detector from the
// film's top left corner.
func (s Scene) markerStrokes() [][4]float64 {
	x, y := 0.045*float64(s.Width)*s.Spacing, 0.80*float64(s.Height)*s.Spacing
	const w, h = 7, 12
	letter := [][4]float64{
		{0, 0, 0, h}, {0, 0, w * 0.7, 0}, {w * 0.7, 0, w, h * 0.12}, {w, h * 0.12, w, h * 0.38},
		{w, h * 0.38, w * 0.7, h / 2}, {w * 0.7, h / 2, 0, h / 2}, {w * 0.45, h / 2, w, h},
	}
	for i := range letter {
		letter[i][0] += x
		letter[i][2] += x
		letter[i][1] += y
		letter[i][3] += y
	}
	return letter
}

// markerShade returns the share of the beam that passes the marker at a
// position on the detector, mm.
func markerShade(strokes [][4]float64, x, y float64) float64 {
	best := math.Inf(1)
	for _, q := range strokes {
		dx, dy := q[2]-q[0], q[3]-q[1]
		t := min(1, max(0, ((x-q[0])*dx+(y-q[1])*dy)/(dx*dx+dy*dy)))
		best = min(best, math.Hypot(q[0]+t*dx-x, q[1]+t*dy-y))
	}
	if best < 0.9 {
		return 0.02
	}
	return 1
}
