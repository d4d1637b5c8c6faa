package phantom

import "math"

// vec is a point or direction in mm.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec           { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec           { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) mul(k float64) vec       { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64       { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) norm() float64           { return math.Sqrt(a.dot(a)) }
func (a vec) unit() vec               { return a.mul(1 / a.norm()) }
func (a vec) at(d vec, t float64) vec { return a.add(d.mul(t)) }

func (a vec) cross(b vec) vec {
	return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

// basis returns two unit vectors that complete the unit vector a.
func (a vec) basis() (u, v vec) {
	u = a.cross(vec{0, 0, 1})
	if u.norm() < 0.1 {
		u = a.cross(vec{1, 0, 0})
	}
	u = u.unit()
	return u, a.cross(u)
}

// mat is a rotation, by rows.
type mat [3]vec

func (m mat) apply(a vec) vec { return vec{m[0].dot(a), m[1].dot(a), m[2].dot(a)} }

// inverse applies the transpose of m.
func (m mat) inverse(a vec) vec {
	return m[0].mul(a.x).add(m[1].mul(a.y)).add(m[2].mul(a.z))
}

func (m mat) times(n mat) mat {
	col := func(i int) vec {
		return [3]vec{{n[0].x, n[1].x, n[2].x}, {n[0].y, n[1].y, n[2].y}, {n[0].z, n[1].z, n[2].z}}[i]
	}
	var r mat
	for i := range r {
		r[i] = vec{m[i].dot(col(0)), m[i].dot(col(1)), m[i].dot(col(2))}
	}
	return r
}

// rotation returns the rotation by tilt about x, then rot about y, then roll
// about z, in degrees.
func rotation(tilt, rot, roll float64) mat {
	sin := func(d float64) float64 { return math.Sin(d * math.Pi / 180) }
	cos := func(d float64) float64 { return math.Cos(d * math.Pi / 180) }
	x := mat{{1, 0, 0}, {0, cos(tilt), -sin(tilt)}, {0, sin(tilt), cos(tilt)}}
	y := mat{{cos(rot), 0, sin(rot)}, {0, 1, 0}, {-sin(rot), 0, cos(rot)}}
	z := mat{{cos(roll), -sin(roll), 0}, {sin(roll), cos(roll), 0}, {0, 0, 1}}
	return z.times(y).times(x)
}
