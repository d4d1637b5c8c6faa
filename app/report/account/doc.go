// Package account writes the report of a whole study: the flow of its hips and films, who
// and what is in it, penetration by visit, rates by group, agreement, survival, what was done
// by hand, the methods with the parameters that were used, and which items of the guidelines
// for reporting cohorts (STROBE) and agreement (GRRAS) it fills.
//
// A report is a list of blocks, made once, that PDF and HTML show alike. Its numbers are
// those of package findings; it computes none. HTML is one file without anything from
// elsewhere, with headings, headers of tables and descriptions of figures for those who hear
// it.
//
//	r := account.New(told, account.About{Study: "hips.linerwatch", Date: now})
//	err := r.HTML(w)
package account
