package fit

// Row holds one number for each of up to six parameters; those that a model does not
// have are zero.
type Row [6]float64

// Matrix holds one number for each pair of parameters.
type Matrix [6]Row

// Inverse returns the inverse of a normal matrix, with zeros for the parameters that
// are not there, and whether there is one.
func (a Matrix) Inverse() (inv Matrix, ok bool) {
	var none [6]bool
	for i := range a {
		if none[i] = a[i] == (Row{}); none[i] {
			a[i][i] = 1
		}
	}
	ok = GaussJordan(a[:], inv[:])
	for i := range inv {
		if none[i] {
			inv[i][i] = 0
		}
	}
	return inv, ok
}

// Times returns a v.
func (a *Matrix) Times(v Row) (out Row) {
	for i := range a {
		for j, x := range v {
			out[i] += a[i][j] * x
		}
	}
	return out
}

// Squares adds w u u' to a.
func (a *Matrix) Squares(w float64, u Row) {
	for i, x := range u {
		if x == 0 {
			continue
		}
		x *= w
		for j, y := range u {
			a[i][j] += x * y
		}
	}
}

// Block is what the points of one stretch of an outline give to a fit: the sum of
// their weighted squares of derivatives, and of their weighted residuals times
// derivatives.
type Block struct {
	Normal Matrix
	Score  Row
}

// Add adds a point with its derivatives.
func (b *Block) Add(weight, residual float64, j Row) {
	b.Normal.Squares(weight, j)
	for i, x := range j {
		b.Score[i] += weight * residual * x
	}
}

// Sandwich returns the covariance of a weighted least-squares fit to points that err
// together within a block, but not from block to block: with A the normal matrix of
// all, P that of the priors, on its diagonal, and B the inverse of A + P, it is
// B (M + noise P) B, M being the sum of g g' over the blocks' scores (Liang KY, Zeger
// SL. Biometrika 1986;73:13-22). As the fit has drawn in the residuals of a block, g is
// (A + P) (A + P - A of the block)^-1 times its score: what the other blocks leave of it
// (Bell RM, McCaffrey DF. Survey Methodology 2002;28:169-181). noise is the variance of
// a point of weight one times the points that err as one. ok is false where one block
// alone tells a parameter.
func Sandwich(blocks []Block, prior Row, noise float64) (cov Matrix, ok bool) {
	var whole, meat Matrix
	count := 0.0
	for i, p := range prior {
		whole[i][i], meat[i][i] = p, noise*p
	}
	for _, b := range blocks {
		if b.Normal == (Matrix{}) {
			continue
		}
		count++
		for i := range whole {
			for j := range whole {
				whole[i][j] += b.Normal[i][j]
			}
		}
	}
	for _, b := range blocks {
		if b.Normal == (Matrix{}) {
			continue
		}
		others := whole
		for i := range others {
			for j := range others {
				others[i][j] -= b.Normal[i][j]
			}
		}
		inv, ok := others.Inverse()
		if !ok {
			return cov, false
		}
		meat.Squares((count-1)/count, whole.Times(inv.Times(b.Score)))
	}
	bread, ok := whole.Inverse()
	if !ok {
		return cov, false
	}
	for i := range cov {
		half := meat.Times(bread[i])
		for j := range cov {
			for k := range half {
				cov[i][j] += half[k] * bread[k][j]
			}
		}
	}
	return cov, true
}
