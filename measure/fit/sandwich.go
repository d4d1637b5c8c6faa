package fit

// Row holds one number for each of up to six parameters; those that a model does not
// have are zero.
type Row [6]float64

// Matrix holds one number for each pair of parameters.
type Matrix [6]Row

// Inverse returns the inverse of a normal matrix, of which the lower half is read, with zeros for the parameters that
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
// their weighted squares of derivatives, its lower half, and of their weighted residuals
// times derivatives.
type Block struct {
	Normal Matrix
	Score  Row
}

// Add adds a point with its derivatives.
func (b *Block) Add(weight, residual float64, j Row) {
	for i, x := range j {
		if x == 0 {
			continue
		}
		x *= weight
		b.Score[i] += x * residual
		row := &b.Normal[i]
		for k, y := range j[:i+1] {
			row[k] += x * y
		}
	}
}

// sum returns the normal matrix of all blocks, and how many have one.
func sum(blocks []Block) (all Block, count float64) {
	for _, b := range blocks {
		if b.Normal == (Matrix{}) {
			continue
		}
		count++
		for i := range all.Normal {
			all.Score[i] += b.Score[i]
			for j := range all.Normal {
				all.Normal[i][j] += b.Normal[i][j]
			}
		}
	}
	return all, count
}

// Step returns the Gauss-Newton step to which all blocks together lead.
func Step(blocks []Block) (step Row, ok bool) {
	all, _ := sum(blocks)
	inv, ok := all.Normal.Inverse()
	return Times(inv[:], all.Score), ok
}

// Sandwich returns the covariance of a weighted least-squares fit to points that err
// together within a block, but not from block to block: the sum of the squares of how
// far each block moves the fit, by a Newton step from where the others alone would have
// it, times (G - 1)/G for G blocks, plus what the priors leave. It is the sandwich of
// Liang KY, Zeger SL. Biometrika 1986;73:13-22 with what the fit has drawn in of each
// block's residuals put back (Bell RM, McCaffrey DF. Survey Methodology
// 2002;28:169-181), and the jackknife that leaves out one block at a time.
//
// prior is what the priors add to the diagonal of the normal matrix, noise the variance
// of a point of weight one times the points that err as one. ok is false where one block alone tells a parameter.
func Sandwich(blocks []Block, prior Row, noise float64) (cov Matrix, ok bool) {
	all, count := sum(blocks)
	whole := all.Normal
	for i, p := range prior {
		whole[i][i] += p
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
			if others[i][i] < 1e-9*whole[i][i] {
				return cov, false
			}
		}
		inv, ok := others.Inverse()
		if !ok {
			return cov, false
		}
		cov.Squares((count-1)/count, Times(inv[:], b.Score))
	}
	bread, ok := whole.Inverse()
	for i, p := range prior {
		if p > 0 {
			cov.Squares(noise*p, bread[i]) // bread is symmetric
		}
	}
	return cov, ok
}
