// Package tables computes over a table of many hips: their rates, the models of a
// course, groups, liners and the agreement of readers. It reads a table by the
// names of its columns and leaves the arithmetic to package study.
//
// # Tables
//
// A table is text in UTF-8 with a header, separated by commas, or by semicolons
// or tabs with decimal commas. Columns that a table calls otherwise are named by
// Columns. Years are counted from surgery, lengths are mm.
//
// # Hips
//
// A hip is one of a patient where the table has a column patient, so that L and R are
// those of each; else its name alone stands for it. A table whose only hips are called by
// their side, with more rows than two hips have, says so. A row that repeats an
// earlier one in every cell counts once, and is named.
//
// # Rows that cannot be used
//
// No row is dropped unsaid: a *RowError names its line, its column and what is
// wrong. Where each hip is fitted on its own (Rates, Models, Vectors), a hip with
// such a row is not fitted and the others are; what is computed over the whole
// table (Mixed, Liners, Agreement) is then not computed.
//
// # Use
//
//	rates, bad, err := tables.Rates(file, nil, study.DefaultStartYears)
package tables
