package study

import "strings"

// Contradiction says what two files of one picture say of it where they contradict each
// other, of whose it is or when it was taken: one of the two is wrong, and nobody but a
// reader can say which. It is zero where they do not.
func Contradiction(file, kept Film) Note {
	a, b := file.Facts, kept.Facts
	patient := a.Patient != "" && b.Patient != "" && a.Patient != b.Patient
	side := a.Side != SideUnknown && b.Side != SideUnknown && a.Side != b.Side
	date := !a.Date.IsZero() && !b.Date.IsZero() && !a.Date.Equal(b.Date)
	if !patient && !side && !date {
		return Note{}
	}
	says := func(f Facts) string {
		var out []string
		for _, part := range []struct {
			differs bool
			text    string
		}{{patient, f.Patient}, {side, f.Side.String()}, {date, f.Date.Format("2006-01-02")}} {
			if part.differs {
				out = append(out, part.text)
			}
		}
		return strings.Join(out, ", ")
	}
	return Note{Code: "joined.contradicts", Values: Values{"File": file.Name(), "Says": says(a), "Kept": kept.Name(), "KeptSays": says(b)}}
}
