package account

import (
	"time"

	"linerwatch/app/findings"
	"linerwatch/app/report/figure"
	"linerwatch/app/report/paper"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
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
	voice  paper.Voice
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
		named string // its number
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
	voice   paper.Voice // in the language of the findings
	blocks  []block
	figures int
	tables  int
}

// New makes the report of what a study tells, which needs Model and Checks.
func New(f findings.Findings, about About) Account {
	w := &writer{Findings: f, About: about, voice: paper.Voice{Speech: f.Speech}}
	for _, part := range []func(*writer){
		(*writer).head, (*writer).flow, (*writer).described, (*writer).visits, (*writer).rates, (*writer).above,
		(*writer).reading, (*writer).readers, (*writer).liners, (*writer).checks, (*writer).hand, (*writer).methods, (*writer).guides, (*writer).sources,
	} {
		part(w)
	}
	return Account{about, w.say("account.title", "Study", about.Study), w.voice, w.blocks}
}

// say returns the words of a key; values come as name and value.
func (w *writer) say(key string, values ...any) string {
	v := texts.Values{}
	for i := 0; i+1 < len(values); i += 2 {
		v[values[i].(string)] = values[i+1]
	}
	return w.note(study.Note{Code: key, Values: v})
}

func (w *writer) note(n study.Note) string { return study.NoteIn(w.voice.Say, n) }

func (w *writer) add(b block) { w.blocks = append(w.blocks, b) }

func (w *writer) title(key string) { w.add(heading{2, w.say(key)}) }

func (w *writer) text(key string, values ...any) { w.add(paragraph(w.say(key, values...))) }

// draw adds a figure; where there is none, why.
func (w *writer) draw(name string) {
	f, err := figure.Draw(name, figure.Input{Findings: w.Findings, Speech: w.Speech}, figure.Double)
	if err != nil {
		w.text("account.no-figure", "Why", study.NoteOf(err))
		return
	}
	w.figures++
	w.add(picture{f, w.say("account.figure", "N", float64(w.figures))})
}

func (w *writer) table(key string, columns []column, rows [][]string) {
	w.tables++
	w.add(table{w.say("account.table", "N", float64(w.tables), "Caption", w.say(key)), columns, rows})
}

func (w *writer) groupWords(group string) string {
	switch group {
	case "":
		return w.say("group.all")
	case findings.UnknownGroup:
		return w.say("group.unknown")
	}
	return group
}
