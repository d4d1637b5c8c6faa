package film

import (
	"image"
	"math"

	"linerwatch/measure"
)

// tone relates grey levels to intensity along one outline. With y the
// logarithm of intensity over that at the level ref inside the metal, the level
// is ref - gain (y - bend (1 - exp(-2y))): films show the logarithm, and bend
// over towards metal.
type tone struct{ ref, gain, bend float64 }

// bendRate makes it a square, and the level falls as long as bend is below 1/bendRate; the
// limits were tried by .ci/vary.
const (
	bendRate  = 2
	leastBend = -0.3
	mostBend  = 0.45
)

// show returns the level, minus its derivative by y and its derivative by bend at the
// intensity i, in units of that at ref: exp(-bendRate y) is then its inverse square.
func (t tone) show(i float64) (level, slope, bending float64) {
	y := math.Log(i)
	if y < 0 {
		slope = t.gain * (1 - bendRate*t.bend)
		return t.ref - slope*y, slope, t.gain * bendRate * y
	}
	e := 1 / (i * i)
	return t.ref - t.gain*(y-t.bend*(1-e)), t.gain * (1 - bendRate*t.bend*e), t.gain * (1 - e)
}

// depth is the inverse of level.
func (t tone) depth(level float64) float64 {
	w := (t.ref - level) / t.gain
	if w <= 0 {
		return w / (1 - bendRate*t.bend)
	}
	y := w + max(0, t.bend)*0.8
	for range 20 {
		e := t.bend * math.Exp(-bendRate*y)
		d := (y - t.bend + e - w) / (1 - bendRate*e)
		y = max(0, y-d)
		if math.Abs(d) < 1e-9 {
			break
		}
	}
	return y
}

// linear returns p with grey levels within reach px of c replaced by minus the
// intensity, in units of that at ref, so that metal stays bright, and 0
// elsewhere. Levels below low and above high saturate.
func (t tone) linear(p *Patch, c measure.Circle, reach, low, high float64) Patch {
	const n = 512
	var table [n + 1]float32
	for i := range table {
		y := t.depth(low + (high-low)*float64(i)/n)
		table[i] = float32(-math.Exp(min(y, 30)))
	}
	r := square(image.Rect(p.X0, p.Y0, p.X0+p.W, p.Y0+p.H), c.X, c.Y, c.R+reach+2)
	out := Patch{X0: r.Min.X, Y0: r.Min.Y, W: r.Dx(), H: r.Dy(), V: make([]float32, r.Dx()*r.Dy())}
	scale, from := float32(n/(high-low)), float32(low)
	some := func(y int, from32, to float64) {
		a := max(0, min(int(from32)-out.X0, out.W))
		b := max(a, min(int(to)+1-out.X0, out.W))
		row := p.V[(y+out.Y0-p.Y0)*p.W+out.X0-p.X0:]
		row, dst := row[a:b], out.V[y*out.W+a:y*out.W+b]
		for i, v := range row {
			f := max(0, min((v-from)*scale, n-0.001))
			k := int(f)
			dst[i] = table[k] + (f-float32(k))*(table[k+1]-table[k])
		}
	}
	inner := max(0, c.R-reach)
	for y := range out.H {
		dy := float64(out.Y0+y) + 0.5 - c.Y
		far := (c.R+reach)*(c.R+reach) - dy*dy
		if far <= 0 {
			continue
		}
		x := math.Sqrt(far)
		if near := inner*inner - dy*dy; near > 0 {
			q := math.Sqrt(near)
			some(y, c.X-x, c.X-q)
			some(y, c.X+q, c.X+x)
		} else {
			some(y, c.X-x, c.X+x)
		}
	}
	return out
}
