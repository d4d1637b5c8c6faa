package settle

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// design is what bedding-in or rate depends on between hips, made orthogonal
// with mean square 1: the columns given are q r, their coefficients r⁻¹ times
// those of q.
type design struct {
	n    int        // columns
	q    *mat.Dense // a row a hip
	r    *mat.Dense
	ones bool // the one column is that of a mean for all
}

func newDesign(columns [][]float64, names []string, rows [][]int) (design, error) {
	d := design{n: len(columns)}
	if columns == nil {
		d.n, d.ones = 1, true
		ones := make([]float64, len(names))
		for i := range ones {
			ones[i] = 1
		}
		columns = [][]float64{ones}
	}
	if d.n == 0 || d.n >= len(rows) {
		return d, ErrColumns
	}
	x := mat.NewDense(len(rows), d.n, nil)
	for j, c := range columns {
		for h, films := range rows {
			for _, i := range films {
				if c[i] != c[films[0]] {
					return d, &ChangeError{names[i], c[films[0]], c[i]}
				}
			}
			x.Set(h, j, c[films[0]])
		}
	}
	return d, d.orthogonal(x)
}

// orthogonal splits x by the modified method of Gram and Schmidt, twice over
// (Björck Å. Numerical Methods for Least Squares Problems. SIAM 1996).
func (d *design) orthogonal(x *mat.Dense) error {
	rows, n := x.Dims()
	d.q, d.r = x, mat.NewDense(n, n, nil)
	for j := range n {
		v := d.q.ColView(j).(*mat.VecDense)
		before := mat.Norm(v, 2)
		for range 2 {
			for k := range j {
				u := d.q.ColView(k)
				c := mat.Dot(u, v) / float64(rows)
				d.r.Set(k, j, d.r.At(k, j)+c)
				v.AddScaledVec(v, -c, u)
			}
		}
		size := mat.Norm(v, 2)
		if !(size > 1e-8*before) || math.IsInf(size, 0) {
			return ErrColumns
		}
		size /= math.Sqrt(float64(rows))
		d.r.Set(j, j, size)
		v.ScaleVec(1/size, v)
	}
	return nil
}

func (d design) row(h int) []float64 { return d.q.RawRowView(h) }

// forward takes a row of the columns given to one of q: x r⁻¹.
func (d design) forward(x []float64) []float64 {
	out := make([]float64, d.n)
	for j := range out {
		out[j] = x[j]
		for k := range j {
			out[j] -= out[k] * d.r.At(k, j)
		}
		out[j] /= d.r.At(j, j)
	}
	return out
}

// back takes coefficients of q to those of the columns given, times unit: r⁻¹ b.
func (d design) back(b []float64, unit float64) []float64 {
	out := make([]float64, d.n)
	for j := d.n - 1; j >= 0; j-- {
		out[j] = b[j]
		for k := j + 1; k < d.n; k++ {
			out[j] -= d.r.At(j, k) * out[k]
		}
		out[j] /= d.r.At(j, j)
	}
	for j := range out {
		out[j] *= unit
	}
	return out
}

// of takes a hip's own values of the columns given to those of q.
func (d design) of(x []float64) ([]float64, error) {
	if x == nil && d.ones {
		x = []float64{1}
	}
	if len(x) != d.n {
		return nil, ErrRow
	}
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, &wearfit.NonFiniteError{What: "column", Index: i, Value: v}
		}
	}
	return d.forward(x), nil
}
