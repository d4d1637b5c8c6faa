package study

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"strings"
	"time"
)

// TrailRow is one row of a study's audit trail: who changed what of it, when, with which
// version of the program, and why. Rows are never changed and never deleted.
type TrailRow struct {
	Seq int64 // 1, 2, 3 ...
	Stamp
	What string // "hip", "film", "link", "reading" ...
	ID   string // of which
	Old  string // JSON of what it was; empty for what is new
	New  string // JSON of what it is; empty for what was dropped
	Hash string // Sum after the row before; hexadecimal
}

// Then is a point of an audit trail: after row Row, or, where that is 0, after all rows that are
// not later than At.
type Then struct {
	Row int64
	At  time.Time
}

// Sum returns the hash of the change, in a trail in which before is that of the row before,
// empty for the first: SHA-256 over the fields, each as its length in bytes, a colon, its
// text and a comma, so that no two rows are written alike.
func (c TrailRow) Sum(before string) string {
	var b strings.Builder
	for _, field := range []string{before, strconv.FormatInt(c.Seq, 10), stampTime(c.At), c.Reader, c.Version, c.What, c.ID, c.Old, c.New, c.Why} {
		b.WriteString(strconv.Itoa(len(field)) + ":" + field + ",")
	}
	sum := sha256.Sum256([]byte(b.String()))
	return hex.EncodeToString(sum[:])
}

// stampTime writes a moment, empty where it is not known.
func stampTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

// Audit is what was found when a study was looked through.
type Audit struct {
	Changes  int64  // rows of the trail
	End      string // hash of the last
	Readings int    // whose numbers and edge points were looked at
	Broken   []Break
	Back     []TrailRow // rows whose clock was behind that of the row before
}

// Altered says that the study was changed by other means than the program's; it is zero
// where everything holds.
func (a Audit) Altered() Note {
	if len(a.Broken) == 0 {
		return Note{}
	}
	return Note{Code: "study.altered", Values: Values{"N": float64(len(a.Broken))}}
}

// IsAltered reports whether an error is told by what Altered says.
func IsAltered(err error) bool { return err != nil && NoteOf(err).Code == "study.altered" }

// Break is something that does not hold, with the row of the trail that it is found by:
// that which does not follow from the one before, or that which says otherwise than the
// study. The row may be none.
type Break struct {
	TrailRow
	Why Note
}

// Chain follows a trail row by row.
type Chain struct {
	last TrailRow
}

// End returns the last row that was followed.
func (c *Chain) End() TrailRow { return c.last }

// Next follows a row. It says why the row does not follow from the one before, or nothing;
// what comes next is then held against the row as it stands.
func (c *Chain) Next(row TrailRow) Note {
	before := c.last
	c.last = row
	switch {
	case row.Seq != before.Seq+1:
		return Note{Code: "trail.gap", Values: Values{"From": float64(before.Seq + 1), "To": float64(row.Seq - 1)}}
	case row.Hash != row.Sum(before.Hash):
		return Note{Code: "trail.hash", Values: Values{"Seq": float64(row.Seq)}}
	}
	return Note{}
}
