package dataset

import "strings"

// stataReserved are words that are no names of variables (Stata User's Guide, 11.3).
const stataReserved = "_all _b _coef _cons _n _pi _pred _rc _skip byte double float if in int long str strl using with"

// writeStata writes a do-file for Stata 16 or later.
func writeStata(tables []loaded) []byte {
	p := new(page)
	p.line("* %s", intro)
	p.line("* Make this folder the working directory first: cd \"FOLDER\". Each table is then a frame of")
	p.line("* its own name: frame change hips. What codes mean is in the notes of a variable.")
	p.line("%s", stataPrograms)
	for _, t := range tables {
		p.stata(t)
	}
	p.line("frame change default")
	return p.Bytes()
}

const stataPrograms = `version 16
capture program drop lw_text lw_number lw_date lw_moment
program lw_text
	args v
	quietly replace ` + "`v' = \"\" if `v' == \"NA\"" + `
	quietly replace ` + "`v' = usubstr(`v', 2, .) if ustrregexm(`v', \"^'+([=+@-]|NA$)\")" + `
end
program lw_number
	args v
	quietly replace ` + "`v' = \"\" if `v' == \"NA\"" + `
	quietly destring ` + "`v', replace" + `
end
program lw_date
	args v
	quietly generate long lw_new = daily(` + "`v'" + `, "YMD")
	format lw_new %td
	order lw_new, after(` + "`v'" + `)
	drop ` + "`v'" + `
	rename lw_new ` + "`v'" + `
end
program lw_moment
	args v
	quietly generate double lw_new = clock(substr(` + "`v'" + `, 1, 10) + " " + substr(` + "`v'" + `, 12, 8), "YMDhms")
	format lw_new %tc
	order lw_new, after(` + "`v'" + `)
	drop ` + "`v'" + `
	rename lw_new ` + "`v'" + `
end
`

func (p *page) stata(t loaded) {
	p.line("\ncapture frame drop %s\nframe create %s\nframe change %s", t.name, t.name, t.name)
	p.line("import delimited using \"%s\", varnames(nonames) rowrange(2:) stringcols(_all) bindquotes(strict) encoding(\"utf-8\") clear", fileOf(t.name))
	p.line("label define yesno 0 \"no\" 1 \"yes\", replace")
	load := map[string]string{"number": "number", "integer": "number", "boolean": "number", "date": "date", "datetime": "moment", "string": "text"}
	for i, name := range names(t.fields, 32, stataReserved) {
		f := t.fields[i]
		p.line("rename v%d %s\nlw_%s %s", i+1, name, load[f.kind.of], name)
		p.line("label variable %s %s", name, stataText(f.label))
		if f.kind.of == "boolean" {
			p.line("label values %s yesno", name)
		}
		if f.unit != "" {
			p.line("notes %s: unit %s", name, stataText(f.unit))
		}
		for _, c := range told(f.choices) {
			p.line("notes %s: %s", name, stataText(c.Code+" = "+c.Words))
		}
	}
}

// stataText is a text of Stata, in which nothing is expanded.
func stataText(s string) string {
	return "`\"" + strings.NewReplacer("`", "'", "$", "\\$", "\"", "'").Replace(oneLine(s)) + "\"'"
}
