// Package report writes results of a study to an io.Writer: measurements,
// trends, rates and film facts as an aligned table for people, as JSON or CSV
// for programs, and the trend as a figure.
//
// Lengths are in mm at the level of the hip and carry mm in their names, pixel
// coordinates have their origin at the top-left corner of the top-left pixel,
// directions are degrees from superior with medial positive.
//
// JSON and CSV carry every digit; a value that does not exist is null in JSON
// and an empty cell in CSV. CSV follows RFC 4180: comma, CRLF, one header row
// with the units in its names. The tables of an Export are made for statistics
// programs: NA stands for a missing value, and a codebook explains each column.
// Tables for people round a value to two significant digits of its standard error
// (JCGM 100:2008, 7.2.6).
//
// SaveFile puts what a writer writes into a file that is never half-written.
//
//	err := report.Trend(os.Stdout, report.JSON, trend)
package report

import "linerwatch/assets/texts"

// Caution belongs on every report and on the first screen.
func Caution() string { return texts.Say("account.caution", nil) }

// plusMinus explains the sign in the tables.
const plusMinus = "± one standard error"
