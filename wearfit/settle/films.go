package settle

import "math"

// sums are the films of one hip around their weighted means, its own level
// integrated out over a flat prior: with V the variances of the readings and g
// their inverses, P = V⁻¹ - V⁻¹1 (1'V⁻¹1)⁻¹ 1'V⁻¹.
type sums struct {
	films        []film
	known        bool
	weight       float64 // Σ g
	meanT, meanY float64
	tt, ty, yy   float64 // by P
	square       moments // of what does not bend, by g²
	logs         float64 // of the constant part of the likelihood
}

// film is a film less the means of its hip: t and y times g, and years by itself.
type film struct{ years, g, gt, gy, t, y float64 }

// moments are weighted sums over films of products of the bend u, t and y, each
// less its mean by g.
type moments struct{ one, u, t, y, uu, ut, uy, tt, ty, yy float64 }

func (f *sums) set(h *hip, s2 float64) {
	n := len(h.t)
	if cap(f.films) < n {
		f.films = make([]film, n)
	}
	f.films, f.known = f.films[:n], h.known != nil
	f.weight, f.meanT, f.meanY = 0, 0, 0
	f.logs = -float64(n-1) * math.Log(2*math.Pi) / 2
	if !f.known {
		f.logs -= float64(n) * math.Log(s2) / 2
	}
	for i := range n {
		v := s2
		if f.known {
			v += h.known[i]
			f.logs -= math.Log(v) / 2
		}
		f.films[i] = film{years: h.t[i], g: 1 / v, t: h.t[i], y: h.y[i]}
		f.weight += 1 / v
		f.meanT += h.t[i] / v
		f.meanY += h.y[i] / v
	}
	f.logs -= math.Log(f.weight) / 2
	f.meanT /= f.weight
	f.meanY /= f.weight
	f.centre()
}

// centre takes the means from the films and adds up their products.
func (f *sums) centre() {
	f.tt, f.ty, f.yy, f.square = 0, 0, 0, moments{}
	q := &f.square
	for i := range f.films {
		p := &f.films[i]
		p.t, p.y = p.t-f.meanT, p.y-f.meanY
		p.gt, p.gy = p.g*p.t, p.g*p.y
		f.tt += p.gt * p.t
		f.ty += p.gt * p.y
		f.yy += p.gy * p.y
		q.one += p.g * p.g
		q.t += p.g * p.gt
		q.y += p.g * p.gy
		q.tt += p.gt * p.gt
		q.ty += p.gt * p.gy
		q.yy += p.gy * p.gy
	}
}

// normal are the normal equations of bedding-in and rate for one time constant,
// A = Z'PZ and r = Z'Py, and what their derivatives need.
type normal struct {
	mean   float64 // of the bend
	a      [3]float64
	r0, r1 float64
	d      [3]float64 // of the bend's derivative by ln tau with the bend, t and y
	square moments    // by g²
}

// bend takes the films to one time constant 1/inv: u = 1 - exp(-t/tau).
func (f *sums) bend(inv float64) normal {
	var u1, uu, ut, uy, d1, du, dt, dy float64
	square := f.square
	for i := range f.films {
		p := &f.films[i]
		x := p.years * inv
		e := math.Exp(-x)
		u, d := 1-e, -x*e
		gu, gd := p.g*u, p.g*d
		u1 += gu
		uu += gu * u
		ut += p.gt * u
		uy += p.gy * u
		d1 += gd
		du += gd * u
		dt += p.gt * d
		dy += p.gy * d
		if f.known {
			square.u += p.g * gu
			square.uu += gu * gu
			square.ut += gu * p.gt
			square.uy += gu * p.gy
		}
	}
	mean := u1 / f.weight
	n := normal{mean: mean, a: [3]float64{uu - mean*u1, ut, f.tt}, r0: uy, r1: f.ty, d: [3]float64{du - mean*d1, dt, dy}, square: square}
	if f.known {
		q := &n.square
		q.uu += mean * (mean*q.one - 2*q.u)
		q.ut -= mean * q.t
		q.uy -= mean * q.y
	}
	return n
}

// given is bedding-in and rate of a hip given its films, a time constant and what
// is expected before: mean b, covariance k, and the logarithm of |I + L'AL|.
type given struct {
	b0, b1 float64
	k      [3]float64
	log    float64
	e0, e1 float64 // r - A m
}

func (n *normal) given(l [3]float64, creep, rate float64) given {
	a := n.a
	b00, b01 := a[0]*l[0]+a[1]*l[1], a[1]*l[2]
	b10, b11 := a[1]*l[0]+a[2]*l[1], a[2]*l[2]
	m00, m01, m11 := 1+l[0]*b00+l[1]*b10, l[0]*b01+l[1]*b11, 1+l[2]*b11
	det := m00*m11 - m01*m01
	i00, i01, i11 := m11/det, -m01/det, m00/det
	x0, x1 := l[0]*i00, l[0]*i01
	y0, y1 := l[1]*i00+l[2]*i01, l[1]*i01+l[2]*i11
	p := given{k: [3]float64{x0 * l[0], x0*l[1] + x1*l[2], y0*l[1] + y1*l[2]}, log: math.Log(det)}
	p.e0, p.e1 = n.r0-a[0]*creep-a[1]*rate, n.r1-a[1]*creep-a[2]*rate
	p.b0 = creep + p.k[0]*p.e0 + p.k[1]*p.e1
	p.b1 = rate + p.k[1]*p.e0 + p.k[2]*p.e1
	return p
}

// likelihood of the differences between the films, logarithm: normal with the
// covariance V + Z D Z', the level integrated out (Harville DA. Biometrika
// 1974;61:383-385).
func (f *sums) likelihood(n *normal, p *given, creep, rate float64) float64 {
	m := creep*(n.r0+p.e0) + rate*(n.r1+p.e1) // 2 m'r - m'Am
	return f.logs - p.log/2 - (f.yy-m-p.e0*(p.b0-creep)-p.e1*(p.b1-rate))/2
}

// score returns the derivatives of the likelihood at one time constant by the
// mean of bedding-in and of rate, by D (00, 01 once, 11), by sigma² and by ln tau.
func (f *sums) score(n *normal, p *given) [7]float64 {
	a, k := n.a, p.k
	// T = A - AKA, q = e - AKe
	ak00, ak01 := a[0]*k[0]+a[1]*k[1], a[0]*k[1]+a[1]*k[2]
	ak10, ak11 := a[1]*k[0]+a[2]*k[1], a[1]*k[1]+a[2]*k[2]
	t00 := a[0] - ak00*a[0] - ak01*a[1]
	t01 := a[1] - ak00*a[1] - ak01*a[2]
	t11 := a[2] - ak10*a[1] - ak11*a[2]
	q0, q1 := p.e0-ak00*p.e0-ak01*p.e1, p.e1-ak10*p.e0-ak11*p.e1
	tau := p.b0*(n.d[2]-p.b0*n.d[0]-p.b1*n.d[1]) - k[0]*n.d[0] - k[1]*n.d[1]
	return [7]float64{q0, q1, (q0*q0 - t00) / 2, (q0*q1 - t01) / 2, (q1*q1 - t11) / 2, f.scatter(n, p), tau}
}

// scatter is the derivative by sigma²: half of Σ g² (r² + v) - g, r the residuals
// and v the variances of the curve at the films.
func (f *sums) scatter(n *normal, p *given) float64 {
	b0, b1, k := p.b0, p.b1, p.k
	w0, w1, w2 := b0*b0+k[0], b0*b1+k[1], b1*b1+k[2]
	if !f.known {
		g := f.films[0].g
		sum := f.yy - 2*b0*n.r0 - 2*b1*n.r1 + w0*n.a[0] + 2*w1*n.a[1] + w2*n.a[2]
		return g * (sum + 1 - float64(len(f.films))) / 2
	}
	q := &n.square
	sum := q.yy - 2*b0*q.uy - 2*b1*q.ty + w0*q.uu + 2*w1*q.ut + w2*q.tt
	return (sum + q.one/f.weight - f.weight) / 2
}
