package store

import (
	"context"
	"database/sql"

	"linerwatch/app/study"
)

// AddWithdrawal implements study.Store.
func (s *Tables) AddWithdrawal(ctx context.Context, w study.Withdrawal) error {
	return s.commit(ctx, named("store.withdraw"), func(tx querier) error {
		_, err := inserted(ctx, tx, ofWithdrawal, study.Stamp{Reader: w.Reader, At: w.At, Version: w.Version},
			"INSERT INTO withdrawal (reading_id, back, reader, at, version) VALUES (?, ?, ?, ?, ?)",
			w.ReadingID, w.Back, w.Reader, formatTime(w.At), w.Version)
		return err
	})
}

// lastWithdrawal joins the decision about a reading that holds.
const lastWithdrawal = ` LEFT JOIN withdrawal ON withdrawal.seq =
	(SELECT max(w.seq) FROM withdrawal w WHERE w.reading_id = reading.id)`

// withdrawalRow is that decision; all is null where there is none.
type withdrawalRow struct {
	back                sql.NullBool
	reader, at, version sql.NullString
}

func (w *withdrawalRow) fields() []any { return []any{&w.back, &w.reader, &w.at, &w.version} }

// withdrawal returns the decision where it takes the reading back.
func (w *withdrawalRow) withdrawal(reading string) (*study.Withdrawal, error) {
	if !w.back.Valid || w.back.Bool {
		return nil, nil
	}
	at, err := parseTime(w.at.String)
	if err != nil {
		return nil, err
	}
	return &study.Withdrawal{ReadingID: reading, Reader: w.reader.String, At: at, Version: w.version.String}, nil
}
