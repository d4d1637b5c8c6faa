package dataset

import (
	"context"
	"errors"
	"io"
	"runtime"
	"slices"
	"time"

	"linerwatch/app/study"
)

// Source is what is exported: a study.Store, of which nothing is changed.
type Source interface {
	Records(ctx context.Context, each func(study.Record) error) error
	Unsorted(ctx context.Context) ([]study.Film, error)
	Patients(ctx context.Context) ([]study.Patient, error)
	Variables(ctx context.Context) ([]study.Variable, error)
	Lists(ctx context.Context) ([]study.List, error)
	Values(ctx context.Context, of study.VariableOf, id string) ([]study.Value, error)
	// Disclosures returns who was told numbers, oldest first.
	Disclosures(ctx context.Context) ([]study.Disclosure, error)
	// TrailEnd returns the number and the hash of the last row of the study's audit trail.
	TrailEnd(ctx context.Context) (seq int64, hash string, err error)
	// Check says whether the study is damaged, of which nothing is told.
	Check(ctx context.Context) error
}

// Options say what is told of a study.
type Options struct {
	Whose   string // reader whose readings count, or study.Anyone
	Named   bool   // somebody asked for Whose, who has to be a reader of the study
	Name    string // of the study
	Version string // of the program

	// Date is that of the package; where it is zero, that of the latest reading, draft or
	// decision.
	Date time.Time

	// Altered says that the study was changed outside the program; zero where it was not, or
	// nobody has looked.
	Altered study.Note

	// Lacks reports whether a film's file is not where it was last; nil where nobody looks.
	Lacks func(study.Film) bool

	// Deidentified leaves out what may tell who somebody is: dates are days since surgery, and
	// names, free texts and times are left out. Codes stay, unless there is a Key: then those of
	// patients, hips and films are made with it.
	Deidentified bool
	Key          []byte
}

// Told is what was written.
type Told struct {
	Rows    map[string]int // of each table
	Names   []string       // codes that look like somebody's name, none where they were not told
	Readers []string       // whose readings there are
	Row     int64          // of the trail, the last before; 0 where there is none, or something was saved meanwhile
}

// Create makes a file of the package.
type Create func(name string) (io.WriteCloser, error)

// Write writes a study as a data package. No hip, film and reading is left out; what did not
// count is a row that says why.
func Write(ctx context.Context, from Source, to Create, o Options) (Told, error) {
	variables, err := from.Variables(ctx)
	if err != nil {
		return Told{}, err
	}
	lists, err := from.Lists(ctx)
	if err != nil {
		return Told{}, err
	}
	row, hash, err := from.TrailEnd(ctx)
	if err != nil {
		return Told{}, err
	}
	e := newExport(to, o, variables, lists)
	if err = e.open(); err == nil {
		err = e.hips(ctx, from)
	}
	if err == nil {
		err = e.rest(ctx, from)
	}
	if err == nil {
		err = from.Check(ctx)
	}
	if err == nil {
		err = e.end(ctx, from, row, hash)
	}
	if err == nil {
		err = e.describe()
	}
	if closed := e.files.close(); err == nil {
		err = closed
	}
	return e.told, err
}

// end notes of which row of the trail the export is: none where something was saved meanwhile.
func (e *export) end(ctx context.Context, from Source, row int64, hash string) error {
	now, _, err := from.TrailEnd(ctx)
	if err == nil && now == row {
		e.told.Row, e.hash = row, hash
	}
	return err
}

// export is a study on its way into tables.
type export struct {
	Options
	tables tables
	mask   *mask
	files  *files
	told   Told

	slots    chan struct{}      // one for each hip at work
	coming   chan chan *hipWork // in the order in which hips were added
	written  chan error         // of all of them
	failed   chan struct{}      // closed where one could not be written
	patients patients
	widths   map[string][]int // the longest cell of each column of a table, bytes
	agreed   *study.Agreeing
	last     time.Time
	hash     string // of the trail's last row
}

// hipWork is what one hip adds.
type hipWork struct {
	lines  *lines
	codes  []string // that may be names
	agreed *study.Agreeing
	last   time.Time
}

func newExport(to Create, o Options, variables []study.Variable, lists []study.List) *export {
	m := &mask{on: o.Deidentified, key: o.Key, readers: map[string]string{}}
	e := &export{Options: o, mask: m, tables: newTables(m, nameVariables(variables, fixedColumns())), files: &files{create: to},
		slots: make(chan struct{}, 2*runtime.GOMAXPROCS(0)), coming: make(chan chan *hipWork, 2*runtime.GOMAXPROCS(0)),
		written: make(chan error, 1), failed: make(chan struct{})}
	e.agreed = study.NewAgreeing(lists, false)
	e.told.Rows, e.widths = map[string]int{}, map[string][]int{}
	return e
}

// open makes the files of the tables, with their headers.
func (e *export) open() error {
	head := newLines()
	for _, t := range e.tables.list() {
		if err := e.files.open(fileOf(t.name)); err != nil {
			return err
		}
		t.header(head)
	}
	return e.keep(head, 0)
}

// keep writes rows into the files; header is how many of each table are no rows.
func (e *export) keep(rows *lines, count int) error {
	for _, t := range e.tables.list() {
		b := rows.of[t.name]
		if b == nil {
			continue
		}
		if err := e.files.write(fileOf(t.name), b.bytes()); err != nil {
			return err
		}
		e.told.Rows[t.name] += count * b.rows
		if e.widths[t.name] == nil {
			e.widths[t.name] = make([]int, len(t.fields))
		}
		for i, w := range b.widths {
			e.widths[t.name][i] = max(e.widths[t.name][i], w)
		}
	}
	return nil
}

// hips writes all hips.
func (e *export) hips(ctx context.Context, from Source) error {
	go func() { e.written <- e.inOrder() }()
	err := from.Records(ctx, e.add)
	close(e.coming)
	if failed := <-e.written; failed != nil {
		return failed
	}
	return err
}

// add takes a hip into the export. Its models are fitted meanwhile, of as many hips at once
// as there are processors; the tables keep the order of the calls.
func (e *export) add(r study.Record) error {
	select {
	case <-e.failed:
		return errStopped // hips says why
	case e.slots <- struct{}{}:
	}
	e.note(r)
	ready := make(chan *hipWork, 1)
	e.coming <- ready
	go func() {
		ready <- e.work(r)
		<-e.slots
	}()
	return nil
}

var errStopped = errors.New("dataset: not all could be written")

// note takes down what depends on the order of the hips.
func (e *export) note(r study.Record) {
	for _, g := range r.Readings {
		e.mask.reader(g.Reader)
		if g.Withdrawn != nil {
			e.mask.reader(g.Withdrawn.Reader)
		}
		if !slices.Contains(e.told.Readers, g.Reader) {
			e.told.Readers = append(e.told.Readers, g.Reader)
		}
	}
	for _, x := range r.Exclusions {
		e.mask.reader(x.Reader)
	}
	for _, g := range r.Grades {
		e.mask.reader(g.Reader)
	}
	for _, v := range r.Events {
		e.mask.reader(v.Reader)
	}
	e.patients.add(r)
}

// inOrder writes what hips add, in their order.
func (e *export) inOrder() (err error) {
	for ready := range e.coming {
		w := <-ready
		if err != nil {
			continue
		}
		if err = e.keep(w.lines, 1); err != nil {
			close(e.failed)
			continue
		}
		for _, code := range w.codes {
			e.named(code)
		}
		e.agreed.Join(w.agreed)
		if w.last.After(e.last) {
			e.last = w.last
		}
	}
	return err
}

// rest writes what is of no hip, and of the study as a whole.
func (e *export) rest(ctx context.Context, from Source) error {
	rows := newLines()
	waiting, err := from.Unsorted(ctx)
	if err != nil {
		return err
	}
	for _, f := range waiting {
		e.tables.unsorted.put(rows, e.waiting(f))
		e.named(f.Facts.Patient)
	}
	if err := e.patients.rest(ctx, from); err != nil {
		return err
	}
	for _, p := range e.patients.list {
		e.tables.patients.put(rows, p)
	}
	for _, q := range agreement(e.agreed) {
		e.tables.agreement.put(rows, q)
	}
	if err := e.disclosed(ctx, from, rows); err != nil {
		return err
	}
	e.codebook(rows)
	return e.keep(rows, 1)
}

// named takes down a code that looks like a name, where it is told.
func (e *export) named(code string) {
	if !e.Deidentified && study.LooksLikeName(code) && !slices.Contains(e.told.Names, code) {
		e.told.Names = append(e.told.Names, code)
	}
}

// codebook explains every column of every table.
func (e *export) codebook(to *lines) {
	for _, t := range e.tables.list() {
		for _, f := range t.fields {
			e.tables.codebook.put(to, &bookRow{t.name, f})
		}
	}
}

// fixedColumns are the names of the columns that every study has.
func fixedColumns() map[string]bool {
	out := map[string]bool{}
	for _, t := range newTables(new(mask), nil).list() {
		for _, f := range t.fields {
			out[f.name] = true
		}
	}
	return out
}

// fileOf is the file of a table.
func fileOf(table string) string { return table + ".csv" }

// Files lists the files of a package.
func Files() []string {
	var out []string
	for _, t := range newTables(new(mask), nil).list() {
		out = append(out, fileOf(t.name))
	}
	for _, s := range scripts {
		out = append(out, s.file)
	}
	return append(out, packageFile)
}
