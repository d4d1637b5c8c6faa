package store

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestWithdrawalStandsBesideTheReading(t *testing.T) {
	ctx := context.Background()
	db := openAt(t, filepath.Join(t.TempDir(), "s.linerwatch"))
	defer closed(t, db)
	require.NoError(t, db.SaveHip(ctx, aHip()))
	require.NoError(t, db.SaveFilm(ctx, aFilm("F1", "2004-06-01")))
	for _, id := range []string{"r1", "r2"} {
		require.NoError(t, db.AddReading(ctx, study.Reading{ID: id, FilmID: "F1", Reader: "R1", At: date("2020-01-01"), Measurement: study.Measurement{Status: study.Measured}}))
	}
	read := func() []study.Reading {
		list, err := db.Readings(ctx, "H1")
		require.NoError(t, err)
		require.Len(t, list, 2)
		return list
	}
	before := read()
	w := study.Withdrawal{ReadingID: "r2", Reader: "R2", At: date("2020-01-02"), Version: "1"}
	require.NoError(t, db.AddWithdrawal(ctx, w))
	after := read()
	require.Equal(t, before[0], after[0])
	require.Equal(t, &w, after[1].Withdrawn)
	after[1].Withdrawn = nil
	require.Equal(t, before[1], after[1], "the reading itself is as it was")

	back := study.Withdrawal{ReadingID: "r2", Back: true, Reader: "R1", At: date("2020-01-03")}
	require.NoError(t, db.AddWithdrawal(ctx, back))
	require.Equal(t, before, read(), "the last decision holds")

	require.ErrorContains(t, db.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r9"}), `withdraw reading "r9"`)
	_, err := db.db.ExecContext(ctx, "DELETE FROM withdrawal")
	require.ErrorContains(t, err, "withdrawals are never deleted")
	_, err = db.db.ExecContext(ctx, "UPDATE withdrawal SET back = 0")
	require.ErrorContains(t, err, "withdrawals are never changed")
	_, err = db.db.ExecContext(ctx, "DELETE FROM reading")
	require.ErrorContains(t, err, "readings are never deleted")
}
