// Package store keeps a wear study in one SQLite file behind study.Store.
//
// # The file
//
// A study file is an SQLite 3 database with application_id 0x4C577374 ("LWst");
// its user_version is the number of the last migration it has had. Dates are
// ISO 8601 texts, lengths mm, film coordinates pixels; a reading's outlines,
// with every edge point, are kept in its row as JSON.
//
// Commits are written ahead and flushed to the disk before they are
// acknowledged (journal_mode WAL, synchronous FULL), so a killed program loses
// nothing that Save or Add returned from. While a study is open, files ending
// in -wal and -shm stand beside it and belong to it; Close folds them in, and
// the file is whole again. Copy writes a whole copy at any time.
//
// Readings are append-only: triggers refuse to change or delete one, whatever
// program asks.
//
// # What is refused
//
// A file that is no study (ErrNotStudy), that a newer program wrote (ErrNewer)
// or that is damaged (ErrDamaged) is left as it is, byte for byte.
//
// # References
//
//   - SQLite documentation, "Write-Ahead Logging", "PRAGMA Statements",
//     "Result and Error Codes": https://www.sqlite.org
//
// # Use
//
//	db, err := store.Open("hips.study")
//	if err != nil {
//		return err
//	}
//	defer func() { err = errors.Join(err, db.Close()) }()
//	hips, err := db.Hips(ctx)
package store
