// Package roster reads who is in a study from tables, CSV or XLSX: hips with their patients
// and implants, and what happened to them later. A table is opened (Open) and its columns
// are mapped to what a study keeps (Map), which can be shown and changed before anything is
// taken. Then every cell is checked (Hips, Events); each that cannot be used is named by file, line,
// column and value, and where there is one nothing is to be taken.
//
// Lengths are mm, ages years, dates days. A cell that is empty says nothing: it does not
// make unknown what is known.
package roster
