// Package central keeps a wear study of several sites in a PostgreSQL database behind
// study.Store. A database holds one study, in the schema linerwatch; its tables are those of
// a study file, column for column, and what is read from them and written to them is
// store.Tables.
//
// # Where
//
// A study is named by an address, postgres://USER@HOST/DATABASE, or by a file whose one line
// is an address; such a file may hold a password and has to be its owner's alone (0600).
// Else a password is taken as PostgreSQL's own programs do: PGPASSWORD, PGPASSFILE,
// ~/.pgpass. To another machine the connection is encrypted and the server's certificate
// checked (sslmode=verify-full), unless the address says otherwise; PGSSLROOTCERT or
// sslrootcert names who vouches for it.
//
// # Who
//
// The owner of the database makes the study and brings it to later forms; others work. What
// they may do the database enforces, by three roles of which they are made members:
//
//	DATABASE_reader       reads all; adds readings, grades, exclusions, withdrawals and
//	                      drafts, and films with what their reader tells of them; ends the
//	                      blinding of a list under the code that the list is for
//	DATABASE_coordinator  that, of anybody's list, and hips, patients, sites, events, variables,
//	                      values, settings, lists
//	DATABASE_auditor      reads all, and writes nothing
//
// A user reads under the codes that a coordinator has granted to it, and under no other: that
// holds for readings and grades of readers and coordinators, and for all that a reader adds.
// The setting "reader codes" holds them, so that the trail tells who granted what, and when.
//
// Readings, edge points, exclusions, withdrawals, events, grades and the audit trail are only
// ever added to: no role may change them, and triggers refuse it to the owner, too. A row of
// the trail that does not follow from the one before is refused by the database. Who owns the
// database may drop triggers: that is found by Audit.
//
// # Saving
//
// Those who write do so one after the other: a transaction begins with a lock of the study,
// so that the trail is in the order of the commits, and so that of two readers who accept
// one film under one code at once, the second is told (study.ErrReadSince). Reading waits for
// nobody. A commit is on the server's disk when it is acknowledged (synchronous_commit).
//
// # References
//
//   - PostgreSQL 15 documentation, "Explicit Locking", "Privileges", "SSL Support",
//     "Connection Strings", "The Password File": https://www.postgresql.org/docs/15/
package central
