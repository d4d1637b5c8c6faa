package wearfit

import (
	"gonum.org/v1/gonum/stat/distuv"
)

// AgreementICC is the share of the variance of one reading by any reader that is
// of targets, ICC(A,1) of McGraw and Wong (Psychol Methods 1996;1:30-46): the
// variance of targets over that of targets, readers, target by reader and
// repeats. The interval is theirs, with Satterthwaite's degrees of freedom
// (Biometrics Bull 1946;2:110-114), on the mean squares that the components expect.
func (c Components) AgreementICC(level float64) Coefficient {
	return c.share("ICC(A,1)", 1, level)
}

// ConsistencyICC is ICC(C,1) of McGraw and Wong: the same without the variance of
// readers, whose mean differences do not count.
func (c Components) ConsistencyICC(level float64) Coefficient {
	return c.share("ICC(C,1)", 0, level)
}

// share is the variance of targets over itself and the others, readers taken so
// many times. The mean square of targets expects its own share of target by
// reader and repeats, and the variance of targets so many times: as a multiple of
// the others that is what the F distribution leaves.
func (c Components) share(form string, reader, level float64) Coefficient {
	of := c.layout.target
	rest := reader*c.Reader + c.Interaction + c.Repeat
	own, others, m := c.weights(0, of.inter, 1), c.weights(reader, 1, 1), c.squares()
	var beside, spread float64
	for i, s := range m {
		beside += own[i] * s.variance
		if v := (own[i] + of.target*c.Target/rest*others[i]) * s.variance; v != 0 {
			spread += v * v / s.df
		}
	}
	square := c.square(of)
	df := square * square / spread
	p := (1 + level) / 2
	end := func(f float64) float64 {
		x := max(0, (square*f-beside)/(of.target*rest))
		return x / (1 + x)
	}
	return shareOf(form, c.Target/(c.Target+rest),
		end(1/distuv.F{D1: of.df, D2: df}.Quantile(p)),
		end(distuv.F{D1: df, D2: of.df}.Quantile(p)))
}
