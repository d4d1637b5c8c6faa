package wearfit

// FirstToLast returns (y at the last time - y at the first time) / (last time -
// first time): the rate that uses two films whatever lies between. It is kept
// for comparison with published series; the line uses every film. Of several
// observations at the first or last time the mean is taken.
func FirstToLast(t, y []float64) (float64, error) {
	if err := check(t, y, nil, 2); err != nil {
		return 0, err
	}
	first, last := t[0], t[0]
	for _, v := range t {
		first, last = min(first, v), max(last, v)
	}
	if first == last {
		return 0, ErrEqualTimes
	}
	rate := (meanAt(t, y, last) - meanAt(t, y, first)) / (last - first)
	if !finite(rate) {
		return 0, ErrRange
	}
	return rate, nil
}

// meanAt returns the mean of the values at exactly time at.
func meanAt(t, y []float64, at float64) float64 {
	var sum, n float64
	for i := range t {
		if t[i] == at {
			sum += y[i]
			n++
		}
	}
	return sum / n
}
