package phantom

import "math"

// part is a piece of bone drawn from the front.
type part struct {
	plate  *plate
	spongy float64 // cortical-equivalent share of what is under the cortex
	soft   bool    // the edge fades instead of being rounded; no cortex

	// A shaft's cortex and spongy share change from one level to another.
	shaft              bool
	from, to           float64 // levels, mm caudal
	cortexTo, spongyTo float64

	ball float64 // radius of a sphere about the origin, joined to the rest
}

// bone returns the cortical and spongy path at a point of the part's plane,
// both in mm of cortical bone.
func (p *part) bone(x, y float64) (hard, soft float64) {
	d := p.plate.at(x, y)
	if p.ball > 0 {
		d = max(d, p.ball-math.Hypot(x, y))
	}
	if d <= 0 {
		return 0, 0
	}
	if p.soft {
		s := min(1, d/p.plate.round)
		return 0, p.plate.full * p.spongy * s * s * (3 - 2*s)
	}
	plate, spongy := *p.plate, p.spongy
	if p.shaft {
		t := min(1, max(0, (y-p.from)/(p.to-p.from)))
		plate.cortex += t * (p.cortexTo - plate.cortex)
		spongy += t * (p.spongyTo - spongy)
	}
	all, inside := plate.thickness(d)
	if p.ball > 0 {
		r := math.Hypot(x, y)
		all, inside = join(all, chord(r, p.ball)), join(inside, chord(r, p.ball-plate.cortex))
	}
	return max(0, all-inside), inside * spongy
}

// chord is the path through a sphere at the distance r from its centre.
func chord(r, radius float64) float64 { return 2 * math.Sqrt(max(0, radius*radius-r*r)) }

// join is the larger of two paths, rounded where they meet.
func join(a, b float64) float64 { return (a+b+math.Sqrt((a-b)*(a-b)+16))/2 - 2 }

// solid is a part with a cortex and rounded edges.
func solid(round, full, cortex, spongy float64, loops ...[][2]float64) part {
	p := &plate{loops: loops, round: round, full: full, cortex: cortex}
	return part{plate: p.build(1), spongy: spongy}
}

// swell is a thickening that fades towards its outline, of the stated greatest
// path in mm of cortical bone; negative where bone is missing.
func swell(fade, path float64, loop [][2]float64) part {
	p := &plate{loops: [][][2]float64{loop}, round: fade, full: path}
	cell := 1.0
	if fade > 7 {
		cell = 2
	}
	return part{plate: p.build(cell), spongy: 1, soft: true}
}

// stroke is a dense line of the stated width and greatest path.
func stroke(width, path float64, line ...[2]float64) part {
	smooth := curve(line)
	var loop [][2]float64
	side := func(i int, s float64) {
		a, b := smooth[max(0, i-1)], smooth[min(len(smooth)-1, i+1)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		l := math.Hypot(dx, dy)
		// Narrow towards both ends.
		t := float64(i) / float64(len(smooth)-1)
		w := s * width / 2 * (0.35 + 0.65*math.Sqrt(math.Sin(math.Pi*min(max(t, 0), 1))+1e-9))
		loop = append(loop, [2]float64{smooth[i][0] - w*dy/l, smooth[i][1] + w*dx/l})
	}
	for i := range smooth {
		side(i, 1)
	}
	for i := len(smooth) - 1; i >= 0; i-- {
		side(i, -1)
	}
	p := &plate{loops: [][][2]float64{loop}, round: width / 2, full: path}
	return part{plate: p.build(0.5), spongy: 1, soft: true}
}

// disc is an ellipse as an outline.
func disc(x, y, rx, ry, degrees float64) [][2]float64 {
	s, c := math.Sincos(degrees * math.Pi / 180)
	loop := make([][2]float64, 40)
	for i := range loop {
		b, a := math.Sincos(2 * math.Pi * float64(i) / 40)
		loop[i] = [2]float64{x + rx*a*c - ry*b*s, y + rx*a*s + ry*b*c}
	}
	return loop
}

// curve is the open spline through p.
func curve(p [][2]float64) [][2]float64 {
	n := len(p)
	first := [2]float64{2*p[0][0] - p[1][0], 2*p[0][1] - p[1][1]}
	last := [2]float64{2*p[n-1][0] - p[n-2][0], 2*p[n-1][1] - p[n-2][1]}
	all := append(append([][2]float64{first}, p...), last)
	var out [][2]float64
	for i := 1; i < n; i++ {
		out = append(out, segment(all[i-1], all[i], all[i+1], all[i+2])...)
	}
	return append(out, p[n-1])
}

// layer holds the bone of parts at one depth on a grid.
type layer struct {
	depth      float64 // in front of the frame's origin, mm
	x0, y0     float64
	nx, ny     int
	hard, soft []float32 // mm of cortical bone
}

const layerCell = 0.5 // mm

// bake draws parts into a layer, smoothed a little, as no bone is as sharp as
// a drawn line; gain scales all of it.
func bake(depth, gain float64, parts ...part) *layer {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range parts {
		q := p.plate
		x0, y0 = min(x0, q.x0), min(y0, q.y0)
		x1, y1 = max(x1, q.x0+float64(q.nx)*q.cell), max(y1, q.y0+float64(q.ny)*q.cell)
	}
	l := &layer{depth: depth, x0: x0 - 2, y0: y0 - 2}
	l.nx, l.ny = int((x1-x0+4)/layerCell), int((y1-y0+4)/layerCell)
	l.hard, l.soft = make([]float32, l.nx*l.ny), make([]float32, l.nx*l.ny)
	for i := range parts {
		l.draw(&parts[i])
	}
	for i := range l.hard {
		l.hard[i] *= float32(gain)
		l.soft[i] *= float32(gain)
	}
	k := gaussian(0.9, 3)
	smooth(l.hard, l.nx, l.ny, k)
	smooth(l.soft, l.nx, l.ny, k)
	return l
}

func (l *layer) draw(p *part) {
	q := p.plate
	j0, j1 := int((q.y0-l.y0)/layerCell), int((q.y0+float64(q.ny)*q.cell-l.y0)/layerCell)
	i0, i1 := int((q.x0-l.x0)/layerCell), int((q.x0+float64(q.nx)*q.cell-l.x0)/layerCell)
	for j := max(0, j0); j < min(l.ny, j1); j++ {
		for i := max(0, i0); i < min(l.nx, i1); i++ {
			h, s := p.bone(l.x0+float64(i)*layerCell, l.y0+float64(j)*layerCell)
			l.hard[j*l.nx+i] += float32(h)
			l.soft[j*l.nx+i] += float32(s)
		}
	}
}

// smooth convolves a layer with k along both axes.
func smooth(v []float32, w, h int, k []float64) {
	half := len(k) / 2
	tmp := make([]float32, len(v))
	for i, g := range k {
		for y := range h {
			for x := half; x < w-half; x++ {
				tmp[y*w+x] += float32(g) * v[y*w+x+i-half]
			}
		}
	}
	clear(v)
	for i, g := range k {
		for y := half; y < h-half; y++ {
			src := tmp[(y+i-half)*w : (y+i-half+1)*w]
			for x, t := range src {
				v[y*w+x] += float32(g) * t
			}
		}
	}
}

// at returns the bone at a point of the layer's plane.
func (l *layer) at(x, y float64) (hard, soft float64) {
	fx, fy := (x-l.x0)/layerCell, (y-l.y0)/layerCell
	if !(fx >= 0 && fy >= 0 && fx < float64(l.nx-1) && fy < float64(l.ny-1)) {
		return 0, 0
	}
	i, j := int(fx), int(fy)
	tx, ty := float32(fx-float64(i)), float32(fy-float64(j))
	k := j*l.nx + i
	mixed := func(v []float32) float64 {
		a := v[k] + tx*(v[k+1]-v[k])
		b := v[k+l.nx] + tx*(v[k+l.nx+1]-v[k+l.nx])
		return float64(a + ty*(b-a))
	}
	return mixed(l.hard), mixed(l.soft)
}

// laid is a layer in the patient.
type laid struct {
	*layer
	frame  frame
	origin vec     // of the layer's plane
	height float64 // size along the frame's y, of what is drawn
	wide   float64 // and along x
	dense  float64 // amount of bone, of what is drawn
}

func (f frame) lay(l *layer) laid {
	return laid{layer: l, frame: f, origin: f.origin.at(f.z, l.depth), height: 1, wide: 1, dense: 1}
}

// through returns the bone along r, both in mm of cortical bone.
func (l *laid) through(r ray) (hard, soft float64) {
	o := l.origin.sub(r.from)
	g := r.dir.dot(l.frame.z)
	q := r.dir.mul(o.dot(l.frame.z) / g).sub(o)
	hard, soft = l.at(q.dot(l.frame.x)/l.wide, q.dot(l.frame.y)/l.height)
	return hard * l.dense, soft * l.dense
}
