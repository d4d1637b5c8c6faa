package study

import (
	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed"
)

// ModelChecks are values for plots that show whether a mixed model suits its films and
// hips; Mixed tells the same as quantities where Diagnostics are asked for.
type ModelChecks struct {
	Films []lmm.FilmResidual // in the order of the films in the model
	Hips  []lmm.HipResidual
}

// CheckMixed fits the mixed model as Mixed does and returns its residuals and the hips'
// effects, each over its standard deviation.
func CheckMixed(rows []CohortRow, o CohortOptions) (ModelChecks, error) {
	c, err := newCohort(rows, o)
	if err != nil {
		return ModelChecks{}, err
	}
	how := lmm.Options{ML: o.ML, PatientSlope: o.PatientRate}
	if o.Uncorrelated {
		how.Random = lmm.Uncorrelated
	}
	m, err := c.fit(how)
	if err != nil {
		return ModelChecks{}, err
	}
	films, hips := m.Diagnose()
	return ModelChecks{films, hips}, nil
}

// Reading95 returns the 95 % interval of a film's superior penetration by the errors of its
// own and the baseline film's reading alone.
func (p Penetration) Reading95() wearfit.Interval {
	se, _ := p.SE()
	return wearfit.Interval{Lo: p.Superior, Hi: p.Superior}.Widen(p.Superior, se, level)
}
