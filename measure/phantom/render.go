package phantom

import (
	"image"
	"math"
	"runtime"
	"sync"
)

// Render returns the film, bone bright. The same scene gives the same film,
// whatever the number of processors. Errors are *SceneError.
func Render(s Scene) (*image.Gray16, error) {
	e, err := newExposure(s)
	if err != nil {
		return nil, err
	}
	depth := e.develop()
	if s.Enhance > 0 {
		e.enhance(depth)
	}
	return e.print(depth), nil
}

// Depth is a film before a station turns it into greys: the optical depth of each
// pixel relative to the soft tissue of the pelvis, the natural logarithm of the
// signal there over the signal here, row by row.
type Depth struct {
	W, H    int
	Spacing float64 // detector mm per pixel
	V       []float32
}

// Expose returns the film of a scene as Render does, but before Enhance and
// before it is turned into greys; Bits, Clip and Collimate do not count.
func Expose(s Scene) (*Depth, error) {
	e, err := newExposure(s)
	if err != nil {
		return nil, err
	}
	return &Depth{e.out.Dx(), e.out.Dy(), s.Spacing, e.develop()}, nil
}

func newExposure(s Scene) (*exposure, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	whole := s
	whole.Window = image.Rectangle{}
	v := newView(whole)
	e := &exposure{s: s, view: v, tissue: newTissue(v), out: s.bounds()}
	for _, h := range s.Hips {
		m := newImplant(h)
		if s.isLateral() {
			m.side = stemFromTheSide(m.stem.frame, m.stem.scale)
		}
		e.implants = append(e.implants, e.seen(m))
	}
	e.metal = e.pieces()
	for _, l := range s.Letters {
		e.plaques = append(e.plaques, newPlaque(l, s.Spacing))
	}
	e.expose()
	return e, nil
}

// exposure is one film in the making.
type exposure struct {
	s        Scene
	view     *view
	tissue   *tissue
	implants []*seen
	metal    []placedMetal
	plaques  []plaque
	out      image.Rectangle // what is asked for
	in       image.Rectangle // and with a margin for the blur

	// Signal and its variance in photons of the mean energy per pixel, over in.
	signal, variance []float32
	scatter          scatterMap
}

// seen is an implant with the pixels it can touch.
type seen struct {
	*implant
	box  image.Rectangle
	wire []float32 // path through wires over box; nil without
}

// placedMetal is a piece with the pixels it can touch.
type placedMetal struct {
	metal
	box image.Rectangle
}

// around returns the pixels of the detector that a convex body with these corners
// can touch.
func (v *view) around(corners []vec) image.Rectangle {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, c := range corners {
		p := v.project(c)
		x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
	}
	return image.Rect(int(x0)-1, int(y0)-1, int(x1)+2, int(y1)+2)
}

func (e *exposure) seen(m *implant) *seen {
	x0, y0, x1, y1 := m.box(e.view)
	k := &seen{implant: m, box: image.Rect(x0, y0, x1, y1)}
	wires := m.wires()
	if wires == nil {
		return k
	}
	k.wire = make([]float32, k.box.Dx()*k.box.Dy())
	for _, c := range wires {
		reach := c.r0*e.s.SourceImage/e.s.SourceHip/e.s.Spacing*1.2 + 2
		p, q := e.view.project(c.from), e.view.project(c.from.at(c.axis, c.length))
		b := image.Rect(int(min(p.X, q.X)-reach), int(min(p.Y, q.Y)-reach),
			int(max(p.X, q.X)+reach)+1, int(max(p.Y, q.Y)+reach)+1).Intersect(k.box)
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				l := c.cut(e.view.ray(float64(x)+0.5, float64(y)+0.5)).length()
				k.wire[(y-k.box.Min.Y)*k.box.Dx()+x-k.box.Min.X] += float32(l)
			}
		}
	}
	return k
}

// ray returns the ray to a position on the detector.
func (v *view) ray(x, y float64) ray { return ray{v.source, v.to(x, y).unit()} }

// parallel calls f for bands of [0, n) on all processors.
func parallel(n int, f func(lo, hi int)) {
	const band = 16
	var next struct {
		sync.Mutex
		row int
	}
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for {
				next.Lock()
				lo := next.row
				next.row += band
				next.Unlock()
				if lo >= n {
					return
				}
				f(lo, min(n, lo+band))
			}
		})
	}
	wg.Wait()
}

// beam is what reaches the detector behind tissue alone, as shares of the open
// beam: each energy's photons, the signal, and the signal's variance.
type beam struct {
	photons          [bins]float32
	signal, variance float32
}

// sums fills signal and variance from photons.
func (b *beam) sums() {
	b.signal, b.variance = 0, 0
	for i, n := range b.photons {
		w := float32(energies[i] / meanEnergy)
		b.signal += w * n
		b.variance += w * w * n
	}
}

// behind returns the beam behind tissue along r.
func (t *tissue) behind(r ray) (b beam) {
	w, f, o := t.path(r)
	for i := range b.photons {
		b.photons[i] = float32(t.fluence[i] * math.Exp(-(attenuation[water][i]*w + attenuation[fat][i]*f + attenuation[bone][i]*o)))
	}
	b.sums()
	return b
}

// dim weakens b by the path l through implants, which displace soft tissue.
func (b *beam) dim(l *lengths) {
	for i := range b.photons {
		var mu float64
		for m, d := range l {
			if d > 0 {
				mu += d * (attenuation[m][i] - attenuation[water][i])
			}
		}
		b.photons[i] *= float32(math.Exp(-mu))
	}
	b.sums()
}

// expose fills signal, variance and scatter.
func (e *exposure) expose() {
	margin := len(e.kernel()) / 2
	e.in = e.out.Inset(-margin)
	e.scatter = e.newScatter()
	w, h := e.in.Dx(), e.in.Dy()
	e.signal, e.variance = make([]float32, w*h), make([]float32, w*h)

	// Tissue is smooth: it is traced on a coarser grid of whole steps of the
	// detector, so that a window sees the grid of the whole film.
	step := max(1, int(0.45/e.s.Spacing))
	gx, gy := floorDiv(e.in.Min.X, step), floorDiv(e.in.Min.Y, step)
	gw, gh := floorDiv(e.in.Max.X, step)-gx+2, floorDiv(e.in.Max.Y, step)-gy+2
	grid := make([]beam, gw*gh)
	parallel(gh, func(lo, hi int) {
		for j := lo; j < hi; j++ {
			for i := range gw {
				grid[j*gw+i] = e.tissue.behind(e.view.ray(float64((gx+i)*step)+0.5, float64((gy+j)*step)+0.5))
			}
		}
	})
	parallel(h, func(lo, hi int) {
		row := make([]beam, gw)
		for y := lo; y < hi; y++ {
			j := (e.in.Min.Y + y) - gy*step
			lerpRow(row, grid[j/step*gw:], grid[(j/step+1)*gw:], float32(j%step)/float32(step))
			e.row(y, row, gx, step)
		}
	})
}

func floorDiv(a, b int) int { return int(math.Floor(float64(a) / float64(b))) }

func lerpRow(dst, a, b []beam, t float32) {
	for i := range dst {
		dst[i] = lerp(&a[i], &b[i], t)
	}
}

func lerp(a, b *beam, t float32) (c beam) {
	for k := range c.photons {
		c.photons[k] = a.photons[k] + t*(b.photons[k]-a.photons[k])
	}
	c.signal = a.signal + t*(b.signal-a.signal)
	c.variance = a.variance + t*(b.variance-a.variance)
	return c
}

// row exposes row y of e.in from one row of the tissue grid.
func (e *exposure) row(y int, tissue []beam, gx, step int) {
	w := e.in.Dx()
	sig, va := e.signal[y*w:(y+1)*w], e.variance[y*w:(y+1)*w]
	inv := 1 / float32(step)
	for x := range w {
		i := e.in.Min.X + x - gx*step
		a, b, t := &tissue[i/step], &tissue[i/step+1], float32(i%step)*inv
		sig[x] = a.signal + t*(b.signal-a.signal)
		va[x] = a.variance + t*(b.variance-a.variance)
	}
	py := e.in.Min.Y + y
	e.mark(sig, va, py)
	for x, l := range e.metalOf(py) {
		if l == (lengths{}) {
			continue
		}
		i := e.in.Min.X + x - gx*step
		b := lerp(&tissue[i/step], &tissue[i/step+1], float32(i%step)*inv)
		b.dim(&l)
		sig[x], va[x] = b.signal, b.variance
	}
	e.dimByLead(sig, va, py)
}

// metalOf returns the paths through implants and metal of a row of e.in, nil
// where there are none.
func (e *exposure) metalOf(py int) (row []lengths) {
	// over calls f for the pixels of the row that a box has.
	over := func(box image.Rectangle, f func(px int, l *lengths)) {
		lo, hi := max(e.in.Min.X, box.Min.X), min(e.in.Max.X, box.Max.X)
		if py < box.Min.Y || py >= box.Max.Y || lo >= hi {
			return
		}
		if row == nil {
			row = make([]lengths, e.in.Dx())
		}
		for px := lo; px < hi; px++ {
			f(px, &row[px-e.in.Min.X])
		}
	}
	for _, m := range e.implants {
		over(m.box, func(px int, l *lengths) {
			m.through(e.view.ray(float64(px)+0.5, float64(py)+0.5), l)
			if m.wire != nil {
				l[steel] += float64(m.wire[(py-m.box.Min.Y)*m.box.Dx()+px-m.box.Min.X])
			}
		})
	}
	for _, p := range e.metal {
		over(p.box, func(px int, l *lengths) {
			l[p.is] += p.cut(e.view.ray(float64(px)+0.5, float64(py)+0.5)).length()
		})
	}
	return row
}

// mark dims one row behind the side marker.
func (e *exposure) mark(sig, va []float32, py int) {
	if !e.s.SideMarker {
		return
	}
	strokes := e.s.markerStrokes()
	y := (float64(py) + 0.5) * e.s.Spacing
	first, last := strokes[0], strokes[len(strokes)-1]
	if y < first[1]-1 || y > last[3]+1 {
		return
	}
	x0, x1 := int((first[0]-1)/e.s.Spacing), int((last[2]+1)/e.s.Spacing)
	for px := max(x0, e.in.Min.X); px < min(x1, e.in.Max.X); px++ {
		shade := float32(markerShade(strokes, (float64(px)+0.5)*e.s.Spacing, y))
		sig[px-e.in.Min.X] *= shade
		va[px-e.in.Min.X] *= shade
	}
}
