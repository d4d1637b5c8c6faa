package dicomio

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Another date of the file takes the place of one that is yet to come, and dates that were
// moved to hide them stay as they are (PS3.3 C.12.1.1.1, Longitudinal Temporal Information Modified).
func TestNotAfter(t *testing.T) {
	now := time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	both := []Dated{{day(2099, 1, 2), "acquisition"}, {day(2014, 5, 4), "study"}}
	f := &Film{Dates: both}
	f.NotAfter(now)
	require.Equal(t, day(2014, 5, 4), f.Date)
	require.Equal(t, "study", f.DateSource)
	require.Len(t, f.Warnings, 1)
	require.Equal(t, "tag.future", f.Warnings[0].Code)
	require.Len(t, both, 2, "the file's own list is left alone")

	f = &Film{Dates: []Dated{{day(2026, 12, 1), "study"}}}
	f.NotAfter(now)
	require.Equal(t, day(2026, 12, 1), f.Date, "the day has begun elsewhere")

	f = &Film{Dates: []Dated{{day(2099, 1, 2), "study"}}, moved: true}
	f.NotAfter(now)
	require.Equal(t, day(2099, 1, 2), f.Date)
	require.Empty(t, f.Warnings)
}
