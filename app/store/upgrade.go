package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"linerwatch/app/study"
)

// Earlier reports whether the file at path is a study of an earlier version, which Open
// changes. It looks at the file's header alone: where what changed that is still in the
// log, it may say so of one that has been changed already.
func Earlier(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close() // was read only
	// "The Database Header" of SQLite's "Database File Format": user_version at offset 60,
	// application_id at 68, big-endian.
	var head [72]byte
	if _, err := io.ReadFull(f, head[:]); err != nil || !bytes.HasPrefix(head[:], []byte(magic)) {
		return false
	}
	version := binary.BigEndian.Uint32(head[60:])
	return binary.BigEndian.Uint32(head[68:]) == applicationID && version > 0 && int(version) < len(migrations())
}

// upgrade brings the file to the form of this version and to write-ahead logging.
func (s *DB) upgrade(ctx context.Context, tell study.Progress, may bool) error {
	all := migrations()
	version, err := studyVersion(ctx, s.db, len(all))
	if err != nil {
		return err
	}
	if version == len(all) {
		return logAhead(ctx, s.db)
	}
	if !may {
		return earlierVersion(version)
	}
	if version < packed && tell != nil { // the check takes a while, too
		var n int
		if err := s.db.QueryRowContext(ctx, "SELECT count(*) FROM reading").Scan(&n); err != nil {
			return err
		}
		tell(0, n)
	}
	if err := quickCheck(ctx, s.db); err != nil {
		return err
	}
	if _, err := s.backUp(ctx, s.db, s.now()); err != nil {
		return err
	}
	if err := migrate(ctx, s.db, all, tell); err != nil {
		return err
	}
	if version <= packed {
		// Large files get small here. One that stays large is as good.
		_, _ = s.db.ExecContext(ctx, "VACUUM")
	}
	return s.anew(context.WithoutCancel(ctx))
}

// anew takes another connection after the file was changed: the old one would find it
// locked when it is closed next.
func (s *DB) anew(ctx context.Context) (err error) {
	if err := errors.Join(logAhead(ctx, s.db), s.db.Close()); err != nil {
		return err
	}
	s.db, err = connect(s.path)
	return err
}

func earlierVersion(version int) error {
	return wrapped(study.ErrEarlier, "store.earlier-version", "Version", float64(version), "Known", float64(len(migrations())))
}

// busyWait is how long a statement waits for another program to finish its own.
const busyWait = 5 * time.Second

// logAhead changes the file to write-ahead logging. SQLite does not wait for
// other programs here, so it is asked again until busyWait is over.
func logAhead(ctx context.Context, db *sql.DB) error {
	for began := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		var mode string
		err := db.QueryRowContext(ctx, "PRAGMA journal_mode = WAL").Scan(&mode)
		switch {
		case isCode(err, sqlite3.SQLITE_BUSY) && time.Since(began) < busyWait:
		case err != nil:
			return err
		case mode != "wal":
			return refused("store.no-log", "Mode", mode)
		default:
			return nil
		}
	}
}

// studyVersion reads, from one state of the file, whether it is a study that this
// program knows, and the number of the last migration that it has had.
func studyVersion(ctx context.Context, db *sql.DB, known int) (version int, err error) {
	tx, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	var id int
	if err := tx.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return 0, err
	}
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, err
	}
	switch {
	case id != applicationID || version < 1:
		return 0, study.ErrNotStudy
	case version > known:
		return 0, wrapped(ErrNewer, "store.newer-version", "Version", float64(version), "Known", float64(known))
	}
	return version, nil
}
