package study

import "time"

// Withdrawal is a reader's decision that an accepted reading stands no longer, or
// stands again where Back is set. The reading itself is kept as it was. Withdrawals
// are never changed: of several for one reading the last one holds.
type Withdrawal struct {
	ReadingID string
	Back      bool // the reading stands again
	Reader    string
	At        time.Time
	Version   string // of the program
}

// Stands reports whether the reading has not been withdrawn.
func (r Reading) Stands() bool { return r.Withdrawn == nil }
