package measure

// Part says which outline is looked for.
type Part int

// The parts of a hip replacement that are outlined.
const (
	Head Part = iota // the femoral head
	Cup              // the shell's outer outline, or the wire marker of a cemented cup
)

// Edge is one edge point found on a radial profile.
type Edge struct {
	Point
	Angle    float64 // degrees around the outline, from +x towards +y
	Residual float64 // signed distance to the fitted circle, px, positive outside
	Reject   string  // why the fit left it out; empty where it was kept

	Strength float64 // fall of the profile, grey levels per px
	SD       float64 // standard deviation that the film's noise gives its place, px
}

// Outline is a fitted circle with every edge point that was looked at.
type Outline struct {
	CircleFit
	Edges []Edge

	// Contrast is the median step across the kept edges in standard deviations of
	// a pixel's noise beside them; of a wire ring, the height of its line.
	Contrast float64
	// Clipped is the share of the edges at which the film cannot show more metal.
	Clipped float64

	// Ring is the ellipse of a wire marker, and zero for any other outline. The
	// circle then has its centre and half of its long axis, and residuals are
	// distances to the ellipse.
	Ring Ellipse
	// RingCov is the covariance of the ring's X, Y, A, B (px) and Angle (radians).
	RingCov [5][5]float64
}

// RingFit returns the ring with its errors, as ReadRim and Beam.Rim take it.
func (o Outline) RingFit() EllipseFit {
	return EllipseFit{o.Ring, o.RingCov}
}

// RingScatter returns the covariance of a ring of long half-axis a px of which
// centre and half-axes, and the ends along its outline, are known with variance v
// each, px².
func RingScatter(v, a float64) (cov [5][5]float64) {
	cov[0][0], cov[1][1], cov[2][2], cov[3][3] = v, v, v, v
	cov[4][4] = v / (a * a)
	return cov
}
