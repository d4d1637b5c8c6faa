package phantom

import (
	"image"
	"math"
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
				b.dim(&l)
				// The open beam beside the patient scatters little.
				m.v[j*m.w+i] = min(float64(b.signal), 8*bodySignal)
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

// bodySignal is the signal behind 200 mm of water, as a share of the open beam.
var bodySignal = func() (sum float64) {
	for i, f := range fluence {
		sum += f * energies[i] / meanEnergy * math.Exp(-200*attenuation[water][i])
	}
	return sum
}()

// develop blurs, adds scatter and noise, and takes the logarithm.
func (e *exposure) develop() *image.Gray16 {
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
	img := image.NewGray16(image.Rect(0, 0, ow, e.out.Dy()))
	parallel(e.out.Dy(), func(lo, hi int) {
		sum := make([]float32, ow)
		for y := lo; y < hi; y++ {
			clear(sum)
			for i, g := range kf {
				for x, v := range across[(y+i)*ow : (y+i+1)*ow] {
					sum[x] += g * v
				}
			}
			e.print(img.Pix[y*img.Stride:], e.out.Min.Y+y, sum, e.variance[(y+half)*w+half:])
		}
	})
	return img
}

// print turns one row of signal into grey levels.
func (e *exposure) print(pix []byte, py int, signal, variance []float32) {
	dose := or(e.s.Dose, 60000)
	photons := dose * e.s.Spacing * e.s.Spacing / bodySignal // per pixel of the open beam
	noisy := e.s.Dose >= 0
	scatter := e.scatter.row(float64(py) + 0.5)
	top := float64(int(1)<<e.s.Bits - 1)
	n := normals()
	seed := mix(e.s.Seed ^ mix(uint64(py)+1))
	for x, p := range signal {
		px := e.out.Min.X + x
		f := min((float64(px)+0.5)/e.scatter.cell, float64(e.scatter.w)-1.001)
		i := int(f)
		t := f - float64(i)
		sc := scatter[i] + t*(scatter[i+1]-scatter[i])
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
		mean = max(mean, 0.3/photons, 1e-12)
		g := uint16(grey(math.Log(bodySignal/mean))*top + 0.5)
		pix[2*x], pix[2*x+1] = byte(g>>8), byte(g)
	}
}

// grey maps optical depth relative to 200 mm of water to [0, 1], as a
// processing station compresses the range of a film: steep from soft tissue to
// bone, flatter towards air, bending over towards metal.
func grey(d float64) float64 {
	const thin, thick, mid, knee, shoulder = 0.16, 0.42, 0.27, 0.35, 0.76
	g := mid + thin*d + (thick-thin)*knee*math.Log1p(math.Exp((d+0.3)/knee))
	switch {
	case g < 0.05:
		g = 0.05 * math.Exp((g-0.05)/0.05)
	case g > shoulder:
		g = 1 - (1-shoulder)*math.Exp((shoulder-g)/(1-shoulder))
	}
	return g
}
