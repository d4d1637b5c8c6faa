package phantom

import (
	"image"
	"math"
	"sync"
)

// scatterMap is the scattered signal on a coarse grid over the whole detector.
type scatterMap struct {
	cell float64 // pixels
	w, h int
	v    []float64
}

// newScatter traces a coarse film, spreads it, and takes the stated share.
func (e *exposure) newScatter() scatterMap {
	s := e.s
	m := scatterMap{cell: 6 / s.Spacing}
	m.w, m.h = int(float64(s.Width)/m.cell)+2, int(float64(s.Height)/m.cell)+2
	m.v = make([]float64, m.w*m.h)
	parallel(m.h, func(lo, hi int) {
		for j := lo; j < hi; j++ {
			for i := range m.w {
				r := e.view.ray(float64(i)*m.cell, float64(j)*m.cell)
				b := e.tissue.behind(r)
				var l lengths
				for _, k := range e.implants {
					k.through(r, &l)
				}
				for _, p := range e.metal {
					l[p.is] += p.cut(r).length()
				}
				b.dim(&l)
				// The open beam beside the patient scatters little.
				m.v[j*m.w+i] = min(float64(b.signal), 8*e.tissue.usual)
				if len(s.Blades) > 0 {
					m.v[j*m.w+i] *= passes(s.Blades, float64(i)*m.cell*s.Spacing, float64(j)*m.cell*s.Spacing)
				}
			}
		}
	})
	sigma := 30.0 / 6
	spread(m.v, m.w, m.h, gaussian(sigma, int(3*sigma)))
	share := or(s.Scatter, 0.2)
	for i := range m.v {
		m.v[i] *= share / (1 - share)
	}
	return m
}

// at returns the scatter at a pixel of the detector.
func (m *scatterMap) row(y float64) []float64 {
	f := min(max(y/m.cell, 0), float64(m.h)-1.001)
	j := int(f)
	t := f - float64(j)
	row := make([]float64, m.w)
	for i := range row {
		a, b := m.v[j*m.w+i], m.v[(j+1)*m.w+i]
		row[i] = a + t*(b-a)
	}
	return row
}

func gaussian(sigma float64, half int) []float64 {
	k := make([]float64, 2*half+1)
	var sum float64
	for i := range k {
		d := float64(i-half) / sigma
		k[i] = math.Exp(-d * d / 2)
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	return k
}

// spread convolves a small field with k along both axes, edges repeated.
func spread(v []float64, w, h int, k []float64) {
	half := len(k) / 2
	tmp := make([]float64, len(v))
	for y := range h {
		for x := range w {
			for i, g := range k {
				tmp[y*w+x] += g * v[y*w+min(max(x+i-half, 0), w-1)]
			}
		}
	}
	for y := range h {
		for x := range w {
			var sum float64
			for i, g := range k {
				sum += g * tmp[min(max(y+i-half, 0), h-1)*w+x]
			}
			v[y*w+x] = sum
		}
	}
}

// kernel is the blur of focal spot and detector together.
func (e *exposure) kernel() []float64 {
	sigma := or(e.s.BlurMM, 0.3) / 2.3548 / e.s.Spacing
	if sigma < 0.05 {
		return []float64{1}
	}
	return gaussian(sigma, max(1, int(math.Ceil(3*sigma))))
}

// soft returns the signal behind soft tissue, as a share of the open beam.
func (t *tissue) soft(mm float64) (sum float64) {
	for i, f := range t.fluence {
		sum += f * energies[i] / meanEnergy * math.Exp(-mm*attenuation[water][i])
	}
	return sum
}

// develop blurs, adds scatter and noise, and takes the logarithm.
func (e *exposure) develop() []float32 {
	w, h, k := e.in.Dx(), e.in.Dy(), e.kernel()
	half := len(k) / 2
	kf := make([]float32, len(k))
	for i := range k {
		kf[i] = float32(k[i])
	}
	across := make([]float32, e.out.Dx()*h)
	ow := e.out.Dx()
	parallel(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			src, dst := e.signal[y*w:(y+1)*w], across[y*ow:(y+1)*ow]
			for i, g := range kf {
				for x, v := range src[i : i+ow] {
					dst[x] += g * v
				}
			}
		}
	})
	blurred := make([]float32, ow*e.out.Dy())
	parallel(e.out.Dy(), func(lo, hi int) {
		for y := lo; y < hi; y++ {
			sum := blurred[y*ow : (y+1)*ow]
			for i, g := range kf {
				for x, v := range across[(y+i)*ow : (y+i+1)*ow] {
					sum[x] += g * v
				}
			}
			e.depth(e.out.Min.Y+y, sum, e.variance[(y+half)*w+half:])
		}
	})
	return blurred
}

// depth replaces one row of signal by optical depth relative to the soft
// tissue of the pelvis, with scatter and photon noise.
func (e *exposure) depth(py int, signal, variance []float32) {
	dose := or(e.s.Dose, 60000)
	noisy := dose > 0
	if !noisy {
		dose = 1e12
	}
	photons := dose * e.s.Spacing * e.s.Spacing / e.tissue.usual // per pixel of the open beam
	logUsual := float32(math.Log(e.tissue.usual / (1 - or(e.s.Scatter, 0.2))))
	scatter := e.scatter.row(float64(py) + 0.5)
	n := normals()
	seed := mix(e.s.Seed ^ mix(uint64(py)+1))
	for x, p := range signal {
		px := e.out.Min.X + x
		f := min((float64(px)+0.5)/e.scatter.cell, float64(e.scatter.w)-1.001)
		i := int(f)
		sc := scatter[i] + (f-float64(i))*(scatter[i+1]-scatter[i])
		mean := float64(p) + sc
		if noisy {
			u := mix(seed + uint64(px))
			if count := mean * photons; count > 30 {
				sd := math.Sqrt((float64(variance[x]) + sc) * photons)
				mean += sd * float64(n[u>>48]) / photons
			} else {
				mean = poisson(count, (float64(u>>11)+0.5)/(1<<53)) / photons
			}
		}
		// A pixel without a photon reads as a third of one.
		signal[x] = logUsual - quickLog(float32(max(mean, 0.3/photons)))
	}
}

// enhance sharpens optical depth by an unsharp mask of 1.5 mm.
func (e *exposure) enhance(d []float32) {
	w, h := e.out.Dx(), e.out.Dy()
	soft := append([]float32(nil), d...)
	sigma := 1.5 / e.s.Spacing
	box := max(1, int(sigma*math.Sqrt(3)/2))
	for range 2 {
		boxBlur(soft, w, h, box)
	}
	k := float32(e.s.Enhance)
	for i := range d {
		d[i] += k * max(-0.5, min(0.5, d[i]-soft[i]))
	}
}

// boxBlur averages v over squares of 2 half + 1, edges repeated.
func boxBlur(v []float32, w, h, half int) {
	across := make([]float32, len(v))
	scale := 1 / float64(2*half+1)
	parallel(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			src, dst := v[y*w:(y+1)*w], across[y*w:(y+1)*w]
			at := func(x int) float64 { return float64(src[min(max(x, 0), w-1)]) }
			var sum float64
			for x := -half; x <= half; x++ {
				sum += at(x)
			}
			for x := range dst {
				dst[x] = float32(sum * scale)
				sum += at(x+half+1) - at(x-half)
			}
		}
	})
	parallel(w, func(lo, hi int) {
		sum := make([]float64, hi-lo)
		row := func(y int) []float32 {
			y = min(max(y, 0), h-1)
			return across[y*w+lo : y*w+hi]
		}
		for y := -half; y <= half; y++ {
			for x, s := range row(y) {
				sum[x] += float64(s)
			}
		}
		for y := range h {
			in, out := row(y+half+1), row(y-half)
			for x := range sum {
				v[y*w+lo+x] = float32(sum[x] * scale)
				sum[x] += float64(in[x]) - float64(out[x])
			}
		}
	})
}

// print turns optical depth into grey levels.
func (e *exposure) print(depth []float32) *image.Gray16 {
	ow := e.out.Dx()
	img := image.NewGray16(image.Rect(0, 0, ow, e.out.Dy()))
	parallel(e.out.Dy(), func(lo, hi int) {
		for y := lo; y < hi; y++ {
			e.printRow(img.Pix[y*img.Stride:], e.out.Min.Y+y, depth[y*ow:(y+1)*ow])
		}
	})
	return img
}

// printRow turns one row of optical depth into grey levels.
func (e *exposure) printRow(pix []byte, py int, depth []float32) {
	levels := greyLevels()
	top := float64(int(1)<<e.s.Bits - 1)
	clip := or(e.s.Clip, 1)
	border := e.s.Collimate / e.s.Spacing
	outside := func(p, n int) bool { return float64(p) < border || float64(n-p) < border }
	for x, d := range depth {
		px := e.out.Min.X + x
		v := min(1, levels.grey(d)/clip)
		if border > 0 && (outside(px, e.s.Width) || outside(py, e.s.Height)) {
			v = 0.97
		}
		g := uint16(v*top + 0.5)
		pix[2*x], pix[2*x+1] = byte(g>>8), byte(g)
	}
}

// grey maps optical depth relative to soft tissue to [0, 1], as a
// processing station compresses the range of a film: steep from soft tissue to
// bone, flatter towards air, bending over towards metal.
func grey(d float64) float64 {
	const thin, thick, mid, knee, shoulder = 0.16, 0.42, 0.26, 0.35, 0.76
	g := mid + thin*d + (thick-thin)*knee*math.Log1p(math.Exp((d+0.3)/knee))
	switch {
	case g < 0.05:
		g = 0.05 * math.Exp((g-0.05)/0.05)
	case g > shoulder:
		g = 1 - (1-shoulder)*math.Exp((shoulder-g)/(1-shoulder))
	}
	return g
}

// greyTable holds grey at steps of depth.
type greyTable [40*greySteps + 2]float64

const (
	greyFrom  = -8.0
	greySteps = 256 // per unit of depth
)

var greyLevels = sync.OnceValue(func() *greyTable {
	var t greyTable
	for i := range t {
		t[i] = grey(greyFrom + float64(i)/greySteps)
	}
	return &t
})

// grey interpolates grey at the depth d.
func (t *greyTable) grey(d float32) float64 {
	f := min(max((float64(d)-greyFrom)*greySteps, 0), 40*greySteps)
	i := int(f)
	return t[i] + (f-float64(i))*(t[i+1]-t[i])
}

// logTable holds the logarithm of 1 to 2 in 2048 steps.
var logTable = func() (t [2049]float32) {
	for i := range t {
		t[i] = float32(math.Log(1 + float64(i)/2048))
	}
	return t
}()

// quickLog is the natural logarithm of a normal positive number, to 1e-6.
func quickLog(x float32) float32 {
	b := math.Float32bits(x)
	i := b >> 12 & 2047
	t := float32(b&4095) / 4096
	return float32(int(b>>23)-127)*math.Ln2 + logTable[i] + t*(logTable[i+1]-logTable[i])
}
