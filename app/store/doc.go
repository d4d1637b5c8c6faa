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
// Readings, edge points, exclusions, withdrawals, events, grades and the audit trail are
// append-only: triggers refuse to change or delete one, whatever program asks. A file is made for its
// owner alone (0600, less what the umask takes): it holds data of patients.
//
// # The audit trail
//
// Every change of a site, patient, hip, film, link, setting, variable or value, and every
// reading, withdrawal, exclusion, event and grade is a row of the table trail, written by
// addTrail in the transaction of the change: who, when, with which version, of what, what
// it was and is as JSON, and why. Of a reading it holds a digest of its row and its edge points.
// Each row has the hash of itself after the row before (study.TrailRow.Sum); the last one is
// noted apart, and the number of rows that there ever were is in sqlite_sequence. Drafts,
// which nobody has accepted, are in no row. What was there before the trail has rows that say so.
//
// Audit finds what was changed by other means than the program's: a row changed, put in,
// taken out or moved, of the trail or of what it tells of; a trigger that was dropped or
// replaced. It does not find what one does who may write the file and makes the rows
// after it anew by the same rule, with the end that is noted: there is no secret in the rule.
// Whoever notes the number and hash of the last row elsewhere ("study check" tells them)
// finds that, too; of rows after that one nothing is proven. Nor does it know who sat at the keyboard: a
// reader's code is what was entered.
//
// # Backups
//
// Before a file of an earlier version is changed, and when a study is opened, or stays open, on a later day than
// that of its last change, a backup is made in the folder NAME-backups beside the study and looked
// through; the setting "backups kept" says how many stay. NotBackedUp tells of one that fails. One is restored by copying it to another name. Salvage
// saves what can be read of a damaged study of which there is none.
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
// is left as it is, byte for byte; so is one of an earlier version by Look, which also
// reads what cannot be written. Damage is found by a check that runs in the background
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
