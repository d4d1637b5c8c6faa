// Package findings computes what is told of a whole study: the flow of its hips and films,
// penetration by visit, rates by group, the agreement of its readers and the survival of its
// liners. It takes the records of a study, as they come out of its store, and leaves the
// statistics to packages study and wearfit, so that a report, a figure and a table of the
// same study hold the same numbers.
//
// Lengths are mm, times years since surgery, intervals those at 95 %. What cannot be told
// has a note that says why.
//
//	f := findings.New(findings.Options{Whose: study.Anyone})
//	err := store.Records(ctx, func(r study.Record) error { f.Add(r); return nil })
//	told := f.Tell()
package findings
