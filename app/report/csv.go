package report

import (
	"encoding/csv"
	"io"

	"linerwatch/app/study"
)

// csvWriter is what every table of a command is written by: as RFC 4180 says, with CRLF,
// and with no cell that a spreadsheet would run as a formula (study.GuardCell).
type csvWriter struct{ to *csv.Writer }

func newCSV(w io.Writer) csvWriter {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return csvWriter{c}
}

// row writes a row.
func (c csvWriter) row(cells []string) error {
	guarded := make([]string, len(cells))
	for i, s := range cells {
		guarded[i] = study.GuardCell(s)
	}
	return c.to.Write(guarded)
}

// flush hands over the rows that wait.
func (c csvWriter) flush() error {
	c.to.Flush()
	return c.to.Error()
}

// writeCSV writes rows.
func writeCSV(w io.Writer, rows [][]string) error {
	c := newCSV(w)
	for _, row := range rows {
		if err := c.row(row); err != nil {
			return err
		}
	}
	return c.flush()
}
