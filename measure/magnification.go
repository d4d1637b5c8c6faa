package measure

// The magnification of an AP film of the hip outside which the diameter of the head or
// the spacing at the detector is doubted, and what it is about where nothing tells it
// (common practice, no source).
const (
	LeastMagnification    = 1.05
	MostMagnification     = 1.35
	MiddlingMagnification = 1.2
)

// MiddlingPixel is what a pixel of a film measures at the hip where nothing tells it, mm,
// well enough to say how far off a line drawn by hand may be (common practice, no source).
const MiddlingPixel = 0.13
