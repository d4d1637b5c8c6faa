package account

import (
	"time"

	"linerwatch/app/findings"
	"linerwatch/app/report/figure"
	"linerwatch/app/study"
)

// About is what a report says of itself.
type About struct {
	Study   string // the file's name
	Program string // and its version
	Date    time.Time
	Demo    bool       // films and codes are invented
	Altered study.Note // that the study was changed outside the program
}

// Account is the report of a study.
type Account struct {
	About
	Title  string
	blocks []block
}

// block is a part of a report.
type block interface{ isBlock() }

// The kinds of blocks.
type (
	heading struct {
		level int
		text  string
	}
	paragraph string
	list      []string
	table     struct {
		caption string
		columns []column
		rows    [][]string // the first cell is the row's name
	}
	picture struct {
		figure.Figure
		number int
	}
)

type column struct {
	title string
	share float64
	right bool
}

func (heading) isBlock()   {}
func (paragraph) isBlock() {}
func (list) isBlock()      {}
func (table) isBlock()     {}
func (picture) isBlock()   {}

// writer makes the blocks.
type writer struct {
	findings.Findings
	About
	blocks  []block
	figures int
	tables  int
}

// New makes the report of what a study tells, which needs Model and Checks.
func New(f findings.Findings, about About) Account {
	w := &writer{Findings: f, About: about}
	for _, part := range []func(*writer){
		(*writer).head, (*writer).flow, (*writer).described, (*writer).visits, (*writer).rates, (*writer).above,
		(*writer).readers, (*writer).liners, (*writer).checks, (*writer).hand, (*writer).methods, (*writer).guides, (*writer).sources,
	} {
		part(w)
	}
	return Account{about, say("account.title", "Study", about.Study), w.blocks}
}

// say returns the words of a key; values come as name and value.
func say(key string, values ...any) string {
	return study.Sentence(key, values...)
}

func (w *writer) add(b block) { w.blocks = append(w.blocks, b) }

func (w *writer) title(key string) { w.add(heading{2, say(key)}) }

func (w *writer) text(key string, values ...any) { w.add(paragraph(say(key, values...))) }

// draw adds a figure; where there is none, why.
func (w *writer) draw(name string) {
	f, err := figure.Draw(name, figure.Input{Findings: w.Findings}, figure.Double)
	if err != nil {
		w.text("account.no-figure", "Why", study.Told(err))
		return
	}
	w.figures++
	w.add(picture{f, w.figures})
}

func (w *writer) table(key string, columns []column, rows [][]string) {
	w.tables++
	w.add(table{say("account.table", "N", float64(w.tables), "Caption", say(key)), columns, rows})
}

func groupWords(group string) string {
	switch group {
	case "":
		return say("group.all")
	case findings.UnknownGroup:
		return say("group.unknown")
	}
	return group
}
