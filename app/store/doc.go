// Package store keeps a wear study in one SQLite file behind study.Store.
//
// # The file
//
// A study file is an SQLite 3 database with application_id 0x4C577374 ("LWst");
// its user_version is the number of the last migration it has had. Dates are
// ISO 8601 texts, lengths mm, film coordinates pixels.
//
// A film is kept once, however many hips are on it; a link makes it one of a hip, and
// readings, drafts and exclusions are of a link. What was read from a reading's outlines
// is in its row, the edge points that they were fitted to, packed (package pack), in a
// row of their own: lists of thousands of hips do not touch them.
//
// Readings, edge points, exclusions, withdrawals and what hips and films were before each
// change are append-only: triggers refuse to change or delete one, whatever program asks.
//
// # Saving
//
// Commits are written ahead and flushed to the disk before they are
// acknowledged (journal_mode WAL, synchronous FULL), so a killed program loses
// nothing that Save or Add returned from. After each commit the log is folded into the
// file and emptied, so that a plain copy of the file alone holds everything; where
// another program reads at that moment this waits for the next commit, or for the end of
// the reading where it is this program's. A copy made in the moment of a commit may be
// torn, as of any file that is written; SaveAs makes one that is not.
//
// After each commit, too, the file at the path has to be the one that was opened; where
// it was removed, moved or replaced, as folders that are synchronised do, the error is
// study.ErrMoved. The open study still holds everything and goes on in a file among the
// temporary ones, since SQLite's log goes by the file's name and would mix with that of
// whatever has the name now; SaveAs keeps it. Closed without that, it stays where it is,
// and the error names it.
//
// Hips and films are saved by revision: where another window or program has saved one
// since, the error is a *study.ConflictError, and nothing is written.
//
// # What is refused
//
// A file that is no study (study.ErrNotStudy, ErrEmpty) or that a newer program wrote (ErrNewer)
// is left as it is, byte for byte. Damage is found by a check that runs in the background
// from the opening on; Check tells it (study.ErrDamaged).
//
// # References
//
//   - SQLite documentation, "Write-Ahead Logging", "PRAGMA Statements",
//     "Result and Error Codes", "How To Corrupt An SQLite Database File": https://www.sqlite.org
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
