package settle

import (
	"errors"
	"fmt"
)

var (
	// ErrOneHip says that there are too few hips.
	ErrOneHip = errors.New("settle: a cohort is two or more hips")
	// ErrTwoTimes says that no hip has films at three different times, so that
	// bedding-in and wear cannot be told apart in any.
	ErrTwoTimes = errors.New("settle: no hip has films at three different times, bedding-in cannot be told from wear")
	// ErrColumns says that a column of a hip's own is a combination of the others.
	ErrColumns = errors.New("settle: what bedding-in or rate shall depend on is not independent: a group of no hip, or the same column twice")
	// ErrRow says that a hip's own rows do not match the fitted columns.
	ErrRow = errors.New("settle: as many values are needed for a hip as the cohort's fit has columns")
	// ErrReadings says that the errors of a hip's readings are known and the
	// cohort's were not, whose scatter holds them already, or the other way round.
	ErrReadings = errors.New("settle: standard errors are known of the cohort's readings or of the hip's, not of both")
	// ErrSearch says that no best fit was found.
	ErrSearch = errors.New("settle: no best fit of the cohort was found: its films do not tell bedding-in, wear and scatter apart")
)

// ChangeError says that a column differs between films of one hip, though it is
// the hip's.
type ChangeError struct {
	Hip           string
	First, Second float64
}

func (e *ChangeError) Error() string {
	return fmt.Sprintf("settle: hip %s has both %v and %v for what shall be the hip's own", e.Hip, e.First, e.Second)
}

// ReadingError names a standard error that is negative.
type ReadingError struct {
	Index int
	Value float64
}

func (e *ReadingError) Error() string {
	return fmt.Sprintf("settle: standard error %d is negative (%v)", e.Index+1, e.Value)
}
