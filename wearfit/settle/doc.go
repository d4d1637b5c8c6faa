// Package settle is the model of all films of a cohort: bedding-in that dies away
// beside wear that goes on, both of each hip's own. Film i of hip h reads at t years
//
//	y = c + B (1 - exp(-t/tau)) + w t + e
//
// with c the hip's level, free and different in every hip, so that offsets and
// penetrations are the same to it and the baseline film's error is where it
// belongs; B and w, bedding-in and rate, normal between hips around means that may
// depend on columns of the hips', correlated; ln tau normal between hips, around a mean that
// may depend on columns too; and e
// normal with the reading's known variance and that of further scatter. Films
// before one year count as the others do.
//
// # How it is fitted
//
// Given tau all is linear and normal: c is integrated out over a flat prior, B and
// w over theirs, exactly; the logarithm of tau by quadrature, whose nodes are
// doubled until that changes the likelihood by less than 1e-4. The fixed effects
// and the middle time constant are integrated out over a flat prior too, by
// Laplace's method, which corrects the standard deviations between hips as REML
// does in a linear model (Harville DA. J Am Stat Assoc 1977;72:320-338).
//
// # Intervals
//
// A Belief holds draws of all parameters; a hip's Course is the mixture over them
// of what its films tell. So its intervals carry what a cohort of few hips leaves
// open, where intervals that take the cohort's values as known hold too seldom. The
// draws are flat over standard deviations, and over what bedding-in shows in the
// films rather than over its size: flat over the size, the intervals of bedding-in
// held in 83 % of hips for 5 hips of 10 films and a time constant of 2 years. Go run
// ./wearfit/bench -settling reports how often they hold: wide of it with 5 hips
// whose films do not tell the time constant (up to 100 %), narrow by some percent
// for bedding-in of a year or more and 100 hips, which seem to vary little by chance
// together. A parametric bootstrap would need some hundred fits of the cohort for
// the same.
//
// The same course, for a hip that is not in the cohort, has the cohort as its
// prior: Belief.Course. It rests on as many hips as Course.Hips says.
//
// Where the films do not tell how long bedding-in lasts, Cohort.Low or High is
// false: below the shortest that shows, it is over before the first film after the
// baseline, and its size and the rate are told all the same; above the longest, it
// cannot be told from wear, the fixed effects have no finite interval, and courses
// rest on the range of time constants that is looked at: from a tenth of the first
// film's time to twice the last one's.
//
// # Use
//
//	c, err := settle.Fit(settle.Data{Hip: hips, Time: years, Value: offsets, SE: se}, settle.Options{})
//	if err != nil {
//		return err
//	}
//	b, err := c.Believe(1)
//	if err != nil {
//		return err
//	}
//	course, _ := b.Hip("7L")
//	rate := course.Rate(0.95)
//	fmt.Printf("%.3f mm/year (%.3f to %.3f)\n", rate.Value, rate.Lo, rate.Hi)
package settle
