package dataset

import (
	"strconv"
	"strings"
)

// writeR writes a script for R, of which base R is enough.
func writeR(tables []loaded) []byte {
	p := new(page)
	p.line("# %s", intro)
	p.line("# In this folder: source(\"load.R\"); from elsewhere: source(\"FOLDER/load.R\", chdir = TRUE).")
	p.line("# `study` is then a list of data frames. attr(x, \"label\") of a column says what it is,")
	p.line("# attr(x, \"unit\") its unit, attr(x, \"words\") what its codes mean.")
	p.line("%s", rFunctions)
	p.line("study <- list()")
	for _, t := range tables {
		p.line("study[[%s]] <- .load(%s, list(", rText(t.name), rText(fileOf(t.name)))
		for i, f := range t.fields {
			end := ","
			if i == len(t.fields)-1 {
				end = "))"
			}
			p.line("  .column(%s, %s, %s%s)%s", rText(f.name), rText(f.kind.of), rText(f.label), rMore(f), end)
		}
	}
	p.line("rm(.load, .column, .typed, .unguarded)")
	return p.Bytes()
}

const rFunctions = `
.unguarded <- function(x) sub("^'(?='*([=+@\t\r\n-]|NA$))", "", x, perl = TRUE)
.column <- function(name, type, label, unit = "", codes = NULL, words = NULL)
  list(name = name, type = type, label = label, unit = unit, codes = codes, words = words)
.typed <- function(x, column) {
  x <- switch(column$type,
    number = as.numeric(x),
    integer = as.integer(x),
    boolean = x == "1",
    date = as.Date(x),
    datetime = as.POSIXct(x, format = "%Y-%m-%dT%H:%M:%SZ", tz = "UTC"),
    .unguarded(x))
  if (!is.null(column$codes)) x <- factor(x, levels = column$codes)
  attr(x, "label") <- column$label
  if (column$unit != "") attr(x, "unit") <- column$unit
  if (!is.null(column$words)) attr(x, "words") <- stats::setNames(column$words, column$codes)
  x
}
.load <- function(file, columns) {
  d <- utils::read.csv(file, colClasses = "character", na.strings = "NA", check.names = FALSE, encoding = "UTF-8")
  stopifnot(ncol(d) == length(columns))
  for (i in seq_along(columns)) d[[i]] <- .typed(d[[i]], columns[[i]])
  names(d) <- vapply(columns, function(k) k$name, "")
  d
}`

// rMore are the arguments that few columns have.
func rMore(f field) string {
	var b strings.Builder
	if f.unit != "" {
		b.WriteString(", unit = " + rText(f.unit))
	}
	if f.choices == nil {
		return b.String()
	}
	var codes, words []string
	for _, c := range f.choices {
		codes, words = append(codes, rText(c.Code)), append(words, rText(c.Words))
	}
	b.WriteString(", codes = c(" + strings.Join(codes, ", ") + ")")
	if told(f.choices) != nil {
		b.WriteString(", words = c(" + strings.Join(words, ", ") + ")")
	}
	return b.String()
}

// rText is a text of R, in ASCII, which any locale reads.
func rText(s string) string { return strconv.QuoteToASCII(s) }
