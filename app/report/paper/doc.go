// Package paper lays out pages for print as PDF: text, tables, pictures and drawings of
// lines. The same
// calls give the same bytes: the date comes from outside.
//
// Lengths are in mm from the top-left corner of the page, sizes of letters in points.
// Fonts are embedded as the subsets that are used. Headings are bookmarks of the file, which
// also states its title and language. The library writes neither a structure tree nor a
// file identifier, so the files are not tagged PDF and not PDF/A.
//
//	s := paper.New(paper.Options{Size: paper.A4, Title: "A page", Language: "en", Date: now})
//	s.Heading(1, "A page")
//	s.Text("What it says.")
//	err := s.Write(w)
package paper
