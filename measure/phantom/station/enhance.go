package station

import "math"

// Unsharp is an unsharp mask.
type Unsharp struct {
	Gain    float64 // of the difference to the blurred film; 0 for none
	SigmaMM float64 // of the blur, mm on the detector
	Most    float64 // largest difference that is enhanced, depth; 0 for any
}

func (u Unsharp) apply(f field, spacing float64) {
	if u.Gain == 0 {
		return
	}
	soft := f.clone()
	soft.blur(u.SigmaMM / spacing)
	most := float32(u.Most)
	if most == 0 {
		most = float32(math.Inf(1))
	}
	for i, v := range f.v {
		f.v[i] = v + float32(u.Gain)*min(most, max(-most, v-soft.v[i]))
	}
}

// Multiscale enhances faint detail of all sizes and flattens strong one: each
// coefficient c of a Laplacian pyramid becomes Gain M sign(c) (|c|/M)^Power.
type Multiscale struct {
	Power  float64 // 1 changes nothing; 0 for none of it
	M      float64 // the strength that stays as it is but for Gain, depth; 0 for 1
	Gain   float64 // of all levels; 0 for 1
	Fine   float64 // gain of the two finest levels more; 0 for 1
	Levels int     // of the pyramid; 0 for 7
	Coarse float64 // gain of what is left above the pyramid; 0 for 1
}

func (m Multiscale) apply(f field) {
	if m.Power == 0 {
		return
	}
	or := func(v, def float64) float64 {
		if v == 0 {
			return def
		}
		return v
	}
	levels := m.Levels
	if levels == 0 {
		levels = 7
	}
	most, gain := or(m.M, 1), or(m.Gain, 1)
	var detail []field
	level := f.clone()
	for len(detail) < levels && min(level.w, level.h) > 8 {
		small := level.halved()
		back := small.doubled(level.w, level.h)
		for i := range level.v {
			level.v[i] -= back.v[i]
		}
		detail = append(detail, level)
		level = small
	}
	for i := range level.v {
		level.v[i] *= float32(or(m.Coarse, 1))
	}
	for k := len(detail) - 1; k >= 0; k-- {
		g := gain
		if k < 2 {
			g *= or(m.Fine, 1)
		}
		table := powerTable(m.Power, most, g)
		back := level.doubled(detail[k].w, detail[k].h)
		for i, c := range detail[k].v {
			back.v[i] += table.at(c)
		}
		level = back
	}
	copy(f.v, level.v)
}

// power is a table of the law of Multiscale by the size of a coefficient.
type power struct {
	v    [1024]float32
	step float32
}

func powerTable(p, most, gain float64) *power {
	t := &power{step: float32(8 * most / 1022)}
	// Towards nothing the law is a straight line, so that noise is not blown up
	// without bound.
	linear := 0.02
	slope := math.Pow(linear, p) / linear
	for i := range t.v {
		u := float64(i) * float64(t.step) / most
		y := slope * u
		if u > linear {
			y = math.Pow(u, p)
		}
		t.v[i] = float32(gain * most * y)
	}
	return t
}

func (t *power) at(c float32) float32 {
	a := c
	if a < 0 {
		a = -a
	}
	u := min(a/t.step, 1022)
	i := int(u)
	y := t.v[i] + (u-float32(i))*(t.v[i+1]-t.v[i])
	if c < 0 {
		return -y
	}
	return y
}

// Equalise is adaptive histogram equalisation with limited contrast.
type Equalise struct {
	Tiles int     // along the longer side; 0 for none
	Limit float64 // of a histogram's cell, in means of all cells; from 1
	Share float64 // of the result that is equalised, the rest being as it was; 0 for 1
}

const cells = 256

// apply works on greys; what lies outside of 0 to 1 counts as 0 or 1.
func (e Equalise) apply(f field) {
	if e.Tiles == 0 {
		return
	}
	share := e.Share
	if share == 0 {
		share = 1
	}
	size := float64(max(f.w, f.h)) / float64(e.Tiles)
	nx, ny := max(1, int(math.Round(float64(f.w)/size))), max(1, int(math.Round(float64(f.h)/size)))
	maps := make([][cells + 1]float32, nx*ny)
	for j := range ny {
		for i := range nx {
			maps[j*nx+i] = e.tile(f, i*f.w/nx, j*f.h/ny, (i+1)*f.w/nx, (j+1)*f.h/ny)
		}
	}
	for y := range f.h {
		j, v := between(y, f.h, ny)
		row := f.row(y)
		for x := range row {
			i, u := between(x, f.w, nx)
			g := min(1, max(0, row[x])) * cells
			c := min(int(g), cells-1)
			t := g - float32(c)
			at := func(i, j int) float32 {
				m := &maps[min(max(j, 0), ny-1)*nx+min(max(i, 0), nx-1)]
				return m[c] + t*(m[c+1]-m[c])
			}
			a, b := at(i, j)+u*(at(i+1, j)-at(i, j)), at(i, j+1)+u*(at(i+1, j+1)-at(i, j+1))
			row[x] += float32(share) * (a + v*(b-a) - row[x])
		}
	}
}

// between returns the tile whose middle lies before a pixel, and the part of the
// way to the next.
func between(p, size, n int) (i int, t float32) {
	u := (float64(p)+0.5)*float64(n)/float64(size) - 0.5
	f := math.Floor(u)
	return int(f), float32(u - f)
}

// tile returns the cumulated histogram of a part of f after its cells are limited
// and what was above is spread over all of them.
func (e Equalise) tile(f field, x0, y0, x1, y1 int) (to [cells + 1]float32) {
	var count [cells]float64
	for y := y0; y < y1; y++ {
		for _, v := range f.row(y)[x0:x1] {
			count[min(max(int(v*cells), 0), cells-1)]++
		}
	}
	n := float64((x1 - x0) * (y1 - y0))
	most := max(1, e.Limit) * n / cells
	var above float64
	for i, c := range count {
		if c > most {
			above += c - most
			count[i] = most
		}
	}
	var sum float64
	for i, c := range count {
		sum += c + above/cells
		to[i+1] = float32(sum / n)
	}
	return to
}
