package study

import "linerwatch/wearfit/survive"

// LinerCurve is the Kaplan-Meier curve of a group of liners.
type LinerCurve struct {
	Group string
	survive.Curve
}

// LinerCurves returns the curves of the groups of liners, of which Liners tells the shares
// at some years.
func LinerCurves(rows []LinerRow) ([]LinerCurve, error) {
	c, err := newLinerCohort(rows, LinerOptions{})
	if err != nil {
		return nil, err
	}
	var out []LinerCurve
	for _, name := range c.names {
		km, err := survive.KaplanMeier(c.groups[name])
		if err != nil {
			return nil, groupFault(name, err)
		}
		out = append(out, LinerCurve{name, km})
	}
	return out, nil
}
