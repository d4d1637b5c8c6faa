package study

// MaxYears is longer than any hip has been followed: the first low-friction replacements
// are of the early 1960s. A time beyond it is in days, or mistyped.
const MaxYears = 60

// HipRate is a rate from a table of penetrations that were measured elsewhere.
type HipRate struct {
	Hip      string
	N        int       // rows of the hip
	Used     int       // rows at or after the start of the steady state
	Fit      *TrendFit // nil where Reason says why there is none
	Reason   Note
	Warnings []Note
}
