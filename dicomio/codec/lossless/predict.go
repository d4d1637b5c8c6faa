package lossless

// predictors turn a row of differences into samples by the selection values of
// Table H.1, with a the sample to the left, b above and c above left. The first
// sample of the row is done already. All arithmetic is modulo 2^16 but for
// halving, which takes the true sum or difference.
var predictors = [8]func(row, above []uint16){
	1: fromLeft,
	2: fromAbove,
	3: fromAboveLeft,
	4: fromPlane,
	5: fromLeftAndSlope,
	6: fromAboveAndSlope,
	7: fromMean,
}

func fromLeft(row, _ []uint16) {
	a := row[0]
	for i := 1; i < len(row); i++ {
		a += row[i]
		row[i] = a
	}
}

func fromAbove(row, above []uint16) {
	above = above[:len(row)]
	for i := 1; i < len(row); i++ {
		row[i] += above[i]
	}
}

func fromAboveLeft(row, above []uint16) {
	above = above[:len(row)]
	for i := 1; i < len(row); i++ {
		row[i] += above[i-1]
	}
}

func fromPlane(row, above []uint16) {
	above = above[:len(row)]
	a := row[0]
	for i := 1; i < len(row); i++ {
		a += row[i] + above[i] - above[i-1]
		row[i] = a
	}
}

func fromLeftAndSlope(row, above []uint16) {
	above = above[:len(row)]
	a := row[0]
	for i := 1; i < len(row); i++ {
		a += row[i] + uint16((int32(above[i])-int32(above[i-1]))>>1)
		row[i] = a
	}
}

func fromAboveAndSlope(row, above []uint16) {
	above = above[:len(row)]
	a := row[0]
	for i := 1; i < len(row); i++ {
		a = row[i] + above[i] + uint16((int32(a)-int32(above[i-1]))>>1)
		row[i] = a
	}
}

func fromMean(row, above []uint16) {
	above = above[:len(row)]
	a := row[0]
	for i := 1; i < len(row); i++ {
		a = row[i] + uint16((uint32(a)+uint32(above[i]))>>1)
		row[i] = a
	}
}
