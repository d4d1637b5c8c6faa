package measure

// ShellRim is the rim of a metal shell's opening as a film shows it: the ellipse
// that the outer edge of the rim casts. ReadRim and Beam.Rim take its
// EllipseFit; the points of the fit are not kept, since it is one to the picture.
type ShellRim struct {
	EllipseFit

	Opening float64 // towards which the shell opens, degrees from +x towards +y
	Depth   float64 // of the rim beyond the shell's centre along its axis, px; below 0 for less than a hemisphere
	SEDepth float64
	Wall    float64 // thickness of the shell, px
	Seen    float64 // share of the near half of the rim that neither head nor neck hides
}
