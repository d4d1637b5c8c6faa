package find

import (
	"errors"
	"image"
	"math"

	"linerwatch/measure"
)

// Limits of ShellRim, tried by .ci/vary.
const (
	rimSeen   = 0.25 // share of the near half of the rim
	rimMisfit = 0.2  // scatter about the model, as a share of the shell's contrast
	rimTurn   = 3.0  // standard error of the long axis, degrees
	rimTip    = 5.0  // standard error of version, degrees
	rimSteep  = 50.0 // version, degrees

	// What the fit does not see: of the direction, degrees; of the short half axis,
	// radii; and what clipping adds to both where the film could show no cell brighter.
	rimTurnSD  = 0.25
	rimShortSD = 0.011
	clipTurnSD = 0.8
	clipShort  = 0.03
)

// ShellRim finds the rim of a metal shell whose outer outline is shell, with the
// head's outline head, on a film with bone bright.
//
// A shell is taken as the part of a hollow sphere below the plane of its rim. The
// grey level is fitted, by weighted least squares over the cells of a grid around
// the opening, as a smooth background and a rising function of the path through
// metal, in the direction of the opening on the film, the angle of the axis to
// the film's plane, the depth of the rim's plane from the centre, and the wall.
// Head and neck, which hide the middle of the rim, are left out, and screws and
// the like count little. Rays are parallel within the shell; where the source's
// distance is known Beam.Rim turns the ellipse into the axis.
//
// Cov is that of the fit with its residuals correlated within some 4 mm, and a
// part for what the model leaves. A film of one shell cannot tell which half of
// the rim is in front. The error is a *measure.NoteError that says why.
func ShellRim(img *image.Gray16, shell, head measure.Circle) (measure.ShellRim, error) {
	if !measure.Finite(shell.X, shell.Y, shell.R, head.X, head.Y, head.R) || !(shell.R >= 12) || shell.R > 1e5 || !(head.R > 0) {
		return measure.ShellRim{}, measure.Fault("rim.no-outlines", nil)
	}
	m, err := newRimModel(img, shell, head)
	if err != nil {
		return measure.ShellRim{}, err
	}
	starts, err := m.search()
	if err != nil {
		return measure.ShellRim{}, err
	}
	fit, err := m.descend(starts)
	if err != nil {
		return measure.ShellRim{}, err
	}
	return m.rim(fit)
}

// SeekRim sets Rim or NoRim of a shell by the function ShellRim from its outlines.
func SeekRim(img *image.Gray16, h *measure.Hip) {
	if h.CupKind != measure.Shell {
		return
	}
	var err error
	h.NoRim = measure.Note{}
	h.Rim, err = ShellRim(img, h.Cup.Circle, h.Head.Circle)
	var no *measure.NoteError
	if errors.As(err, &no) {
		h.NoRim = no.Note
	}
}

// rim turns a fit into the ellipse, or says what does not convince.
func (m *rimModel) rim(f rimFit) (measure.ShellRim, error) {
	const degree = math.Pi / 180
	p := f.pose
	sin, cos := math.Sincos(p[rimVersion])
	sin = max(sin, 0.002) // a tenth of a degree: an ellipse, so that Beam.Rim takes it
	a := math.Sqrt(1 - p[rimDepth]*p[rimDepth])
	r := m.shell.R
	uy, ux := math.Sincos(p[rimAxis])
	off := p[rimDepth] * cos
	var o measure.ShellRim
	o.Ellipse = measure.Ellipse{X: m.shell.X + off*ux*r, Y: m.shell.Y + off*uy*r, A: a * r, B: a * sin * r, Angle: math.Mod(p[rimAxis]/degree+90+360, 180)}
	o.Seen = m.seen(o.Ellipse, p[rimAxis])
	turn, tip := degreesOf(f.cov[rimAxis][rimAxis]), degreesOf(f.cov[rimVersion][rimVersion])
	switch {
	case !(f.contrast > 0) || f.scatter > rimMisfit*f.contrast:
		return measure.ShellRim{}, measure.Fault("rim.unlike", nil)
	case o.Seen < rimSeen:
		return measure.ShellRim{}, measure.Fault("rim.hidden", measure.Values{"Percent": 100 * o.Seen})
	case p[rimVersion] > rimSteep*degree:
		return measure.ShellRim{}, measure.Fault("rim.steep", nil)
	case !(turn <= rimTurn):
		return measure.ShellRim{}, measure.Fault("rim.turn", measure.Values{"Degrees": turn})
	case !(tip <= rimTip):
		return measure.ShellRim{}, measure.Fault("rim.tip", measure.Values{"Degrees": tip})
	}
	// X, Y, A, B and the angle by the pose.
	depth := -p[rimDepth] / a
	var by [5][rimPose]float64
	by[0] = [rimPose]float64{rimAxis: -off * uy * r, rimVersion: -p[rimDepth] * sin * ux * r, rimDepth: cos * ux * r}
	by[1] = [rimPose]float64{rimAxis: off * ux * r, rimVersion: -p[rimDepth] * sin * uy * r, rimDepth: cos * uy * r}
	by[2] = [rimPose]float64{rimDepth: depth * r}
	by[3] = [rimPose]float64{rimVersion: a * cos * r, rimDepth: depth * sin * r}
	by[4] = [rimPose]float64{rimAxis: 1}
	for i := range by {
		for j := range by {
			o.Cov[i][j] = measure.Product(by[i], f.cov[:], by[j])
		}
	}
	short := (rimShortSD + clipShort*m.clipped) * r
	o.Cov[3][3] += short * short
	turn = (rimTurnSD + clipTurnSD*m.clipped) * degree
	o.Cov[4][4] += turn * turn
	return o, nil
}

// degreesOf returns the standard error of an angle, degrees: at most 180, which is all that
// an angle can be off.
func degreesOf(variance float64) float64 {
	if se := math.Sqrt(variance) * 180 / math.Pi; se < 180 {
		return se
	}
	return 180
}

// seen returns the share of the half of an ellipse nearer to the opening that lies
// on cells.
func (m *rimModel) seen(e measure.Ellipse, axis float64) float64 {
	uy, ux := math.Sincos(axis)
	on, all := 0.0, 0.0
	for t := 0.0; t < 360; t += 2 {
		q := e.At(t)
		if (q.X-e.X)*ux+(q.Y-e.Y)*uy < 0 {
			continue
		}
		all++
		if m.open(q) {
			on++
		}
	}
	return on / max(1, all)
}
