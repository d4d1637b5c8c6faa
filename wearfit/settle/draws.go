package settle

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// Belief is what the films leave open about the cohort's parameters: draws from
// their distribution, flat over the rate's coefficients, the standard deviations
// and the correlation, and over what bedding-in shows in the films (shape).
// Intervals that take the parameters as known (plug-in) hold too seldom where
// hips are few (Laird NM, Louis TA. J Am Stat Assoc 1987;82:739-750); flat over
// standard deviations is Gelman A. Bayesian Anal 2006;1:515-534.
type Belief struct {
	Hips int // that it rests on
	// Effective is how many independent draws those taken are worth.
	Effective float64

	model *model
	draws [][]float64 // parameters, each as likely as the other
	fixed [][]float64 // fixed effects of all draws, in the units given
	w     []float64   // their weights
}

// belief coordinates have no bounds: mu and omega by the logistic function within
// their ranges, SDs by their logarithms, the correlation by the inverse tangent.
type belief struct {
	*model
	shape shape
	rest  []float64 // coordinates that are not sought
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// parameters takes coordinates to parameters, and gives the logarithm of the
// volume that a unit of the coordinates stands for.
func (b *belief) parameters(y []float64) (th []float64, volume float64) {
	k := b.fixed()
	th = append([]float64(nil), y...)
	v := th[k:]
	p, q := logistic(v[mu]), logistic(v[omega])
	sc, sr, rho := math.Exp(v[l00]), math.Exp(v[l11]), 0.0
	volume = math.Log(p) + math.Log1p(-p) + math.Log(q) + math.Log1p(-q) + v[l00] + v[l11] + v[sigma]
	if !b.uncorrelated {
		rho = math.Tanh(v[l10])
		volume += -2 * math.Log(math.Cosh(v[l10]))
	}
	v[mu], v[omega] = b.lo+(b.hi-b.lo)*p, mostOmega*q
	shows, _ := b.shape.at(v[mu])
	volume += shows + math.Log(b.size(th, sc))/2
	v[l00], v[l10], v[l11], v[sigma] = sc, rho*sr, sr*math.Sqrt(1-rho*rho), math.Exp(v[sigma])
	return th, volume
}

// size is the mean square of bedding-in.
func (b *belief) size(th []float64, sd float64) float64 {
	s := sd * sd
	for _, c := range th[:b.creep.n] {
		s += c * c
	}
	return s
}

// log returns the logarithm of the density at coordinates and its gradient.
func (b *belief) log(y []float64) (float64, []float64) {
	k := b.fixed()
	th, volume := b.parameters(y)
	value, g := b.value(th)
	p, q := logistic(y[k+mu]), logistic(y[k+omega])
	v, d := th[k:], g[k:]
	_, shows := b.shape.at(v[mu])
	d[mu] = (d[mu]+shows)*(b.hi-b.lo)*p*(1-p) + 1 - 2*p
	size := b.size(th, v[l00])
	for j := range b.creep.n {
		g[j] += th[j] / size
	}
	d[omega] = d[omega]*mostOmega*q*(1-q) + 1 - 2*q
	rho := math.Tanh(y[k+l10])
	if b.uncorrelated {
		rho = 0
	}
	sr := math.Exp(y[k+l11])
	turn := (1 - rho*rho) * sr * (d[l10] - rho/math.Sqrt(1-rho*rho)*d[l11])
	d[l00] = d[l00]*v[l00] + 1 + v[l00]*v[l00]/size
	d[l11] = d[l10]*v[l10] + d[l11]*v[l11] + 1
	d[l10] = turn - 2*rho
	d[sigma] = d[sigma]*v[sigma] + 1
	return value + volume, g
}

// begin takes the fitted parameters to coordinates, none at an end.
func (b *belief) begin(th []float64) []float64 {
	k := b.fixed()
	y := append([]float64(nil), th...)
	v := y[k:]
	const least = 0.05
	logit := func(p float64) float64 {
		p = max(least, min(1-least, p))
		return math.Log(p / (1 - p))
	}
	sr := math.Hypot(v[l10], v[l11])
	rho := 0.0
	if sr > 0 {
		rho = v[l10] / sr * math.Copysign(1, v[l00])
	}
	v[mu], v[omega] = logit((v[mu]-b.lo)/(b.hi-b.lo)), logit(math.Abs(v[omega])/mostOmega)
	v[l00], v[l11] = math.Log(max(math.Abs(v[l00]), least)), math.Log(max(sr, least))
	v[l10] = math.Atanh(max(-0.9, min(0.9, rho)))
	v[sigma] = math.Log(max(math.Abs(v[sigma]), least/5))
	return y
}

// manyHips is from where on the distribution of the parameters is taken to be
// normal, in coordinates without bounds, around its peak.
const manyHips = 1000

// Believe draws parameters; the same seed gives the same.
func (c *Cohort) Believe(seed uint64) (*Belief, error) {
	b := &belief{model: c.model, shape: newShape(c.model), rest: c.th}
	cloud, err := newCloud(b.free, b.pick(b.begin(c.th)))
	if err != nil {
		return nil, err
	}
	cloud.log = func(x []float64) float64 {
		th, volume := b.parameters(b.put(x))
		return b.plain(th) + volume
	}
	r := rand.New(rand.NewPCG(seed, uint64(c.Hips)))
	out := &Belief{Hips: c.Hips, model: c.model, Effective: goodDraws}
	if c.Hips < manyHips {
		if err := cloud.fill(r); err != nil {
			return nil, err
		}
		out.Effective = effective(cloud.w)
	} else {
		cloud.normal(mostDraws, r)
	}
	for _, x := range cloud.keep(keptDraws, r.Float64()) {
		th, _ := b.parameters(b.put(x))
		out.draws = append(out.draws, th)
	}
	out.w = cloud.w
	back := c.model.backward()
	for _, d := range cloud.draws {
		var f mat.VecDense
		f.MulVec(back, mat.NewVecDense(c.model.fixed(), b.put(d.x)[:c.model.fixed()]))
		out.fixed = append(out.fixed, f.RawVector().Data)
	}
	return out, nil
}

// pick takes what is sought out of coordinates, put puts it back among the rest.
func (b *belief) pick(y []float64) []float64 {
	var x []float64
	for _, j := range b.all() {
		x = append(x, y[j])
	}
	return x
}

func (b *belief) put(x []float64) []float64 {
	y := append([]float64(nil), b.rest...)
	for i, j := range b.all() {
		y[j] = x[i]
	}
	return y
}

// free is log by what is sought alone.
func (b *belief) free(x []float64) (float64, []float64) {
	v, g := b.log(b.put(x))
	return v, b.pick(g)
}

// Fixed returns the j-th fixed effect, those of bedding-in first.
func (b *Belief) Fixed(j int, level float64) Between {
	x := make([]float64, b.model.fixed())
	x[j] = 1
	return b.Combine(x, level)
}

// Combine returns Σ x[j] times the fixed effects. Its interval also carries what a
// standard error leaves out where hips are few: that the time constant and the
// standard deviations are not known.
func (b *Belief) Combine(x []float64, level float64) Between {
	order, v := make([]int, len(b.fixed)), make([]float64, len(b.fixed))
	for i, f := range b.fixed {
		order[i], v[i] = i, dot(x, f)
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(v[i], v[j]) })
	at := func(q float64) float64 {
		var sum float64
		for _, i := range order {
			if sum += b.w[i]; sum >= q {
				return v[i]
			}
		}
		return v[order[len(order)-1]]
	}
	return Between{at(0.5), wearfit.Interval{Lo: at((1 - level) / 2), Hi: at((1 + level) / 2)}}
}
