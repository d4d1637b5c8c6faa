package wearfit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// AgreementICC is the share of the variance of one reading by any reader that is
// of targets, ICC(A,1) of McGraw and Wong (Psychol Methods 1996;1:30-46): the
// variance of targets over that of targets, readers, target by reader and
// repeats. The interval is by the modified large-sample method (Cappelleri JC, Ting N.
// Stat Med 2003;22:1861-1877), which holds where few readers differ much; theirs
// is that of ICC(2,1) of Intraclass.
func (c Components) AgreementICC(level float64) Coefficient {
	return c.share("ICC(A,1)", 1, level)
}

// ConsistencyICC is ICC(C,1) of McGraw and Wong: the same without the variance of
// readers, whose mean differences do not count. Of a complete table read once the
// interval is theirs, which is exact.
func (c Components) ConsistencyICC(level float64) Coefficient {
	return c.share("ICC(C,1)", 0, level)
}

// share is the variance of targets over itself and the others, readers taken so
// many times. Were it rho, the mean square of targets would expect a sum of the
// others that grows with rho: the interval holds those rho at which that of their
// difference holds 0.
func (c Components) share(form string, reader, level float64) Coefficient {
	of := c.layout.target
	rest := reader*c.Reader + c.Interaction + c.Repeat
	own, others, m := c.weights(0, of.inter, 1), c.weights(reader, 1, 1), c.squares()
	square := varied{c.square(of), of.df}
	less := newDifference(square, m, level)
	end := func(upper bool) float64 {
		lo, hi := 0.0, 1.0
		for range 60 {
			rho := (lo + hi) / 2
			times := own
			for i := range times {
				times[i] += of.target * rho / (1 - rho) * others[i]
			}
			l, h := less.interval(times)
			if (upper && h > 0) || (!upper && l > 0) {
				lo = rho
			} else {
				hi = rho
			}
		}
		return lo
	}
	return shareOf(form, c.Target/(c.Target+rest), end(false), end(true))
}

// difference is a mean square less a sum of others (Ting N, Burdick RK, Graybill FA,
// Jeyaratnam S, Lu TFC. J Stat Comput Simul 1990;35:135-143).
type difference struct {
	a            float64
	of           [3]float64
	below, above float64    // how far the interval of a goes
	g, h         [3]float64 // and those of the others, as parts of them
	down, up     [3]float64 // what a and each other do together
}

func newDifference(a varied, of [3]varied, level float64) difference {
	p := (1 + level) / 2
	d := difference{a: a.variance}
	d.below, d.above = reach(a.df, p)
	for i, b := range of {
		if d.of[i] = b.variance; b.variance == 0 {
			continue
		}
		d.g[i], d.h[i] = reach(b.df, p)
		f := distuv.F{D1: a.df, D2: b.df}
		u, v := f.Quantile(p), f.Quantile(1-p)
		d.down[i] = ((u-1)*(u-1) - d.below*d.below*u*u - d.h[i]*d.h[i]) / u
		d.up[i] = ((1-v)*(1-v) - d.above*d.above*v*v - d.g[i]*d.g[i]) / v
	}
	return d
}

// interval is that of the difference with each other mean square taken so many
// times.
func (d difference) interval(times [3]float64) (lo, hi float64) {
	sum, below, above := d.a, math.Pow(d.below*d.a, 2), math.Pow(d.above*d.a, 2)
	for i, b := range d.of {
		b *= times[i]
		sum -= b
		if b < 0 { // it is added
			below += math.Pow(d.g[i]*b, 2)
			above += math.Pow(d.h[i]*b, 2)
			continue
		}
		below += math.Pow(d.h[i]*b, 2) + d.down[i]*d.a*b
		above += math.Pow(d.g[i]*b, 2) + d.up[i]*d.a*b
	}
	return sum - math.Sqrt(max(below, 0)), sum + math.Sqrt(max(above, 0))
}

// reach returns how far the interval of a mean square goes below and above it, as
// parts of it.
func reach(df, p float64) (below, above float64) {
	chi := distuv.ChiSquared{K: df}
	return 1 - df/chi.Quantile(p), df/chi.Quantile(1-p) - 1
}
