package store

import (
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// mergedTable is a table as two studies are compared by it.
type mergedTable struct {
	table, query string
	key          []string // columns that say of what a row is; all but the number where none
	apart        []string // columns that may differ without a contradiction
	any          bool     // all others may
}

// mergedTables are all of them, those first that others name. One is added by its line here.
func mergedTables() []mergedTable {
	rows := func(table, order string) string { return "SELECT * FROM " + table + " ORDER BY " + order }
	revised := []string{"revision"}
	return []mergedTable{
		{table: "site", query: rows("site", "code"), key: []string{"code"}, apart: revised},
		{table: "patient", query: rows("patient", "site, code"), key: []string{"site", "code"}, apart: revised},
		{table: "film", query: rows("film", "id"), key: []string{"picture"}, apart: []string{"id", "path", "sha256", "pixel_key", "waits", "reason", "revision"}},
		{table: "hip", query: rows("hip", "id"), key: []string{"site", "patient", "side"}, apart: []string{"id", "revision"}},
		{table: "link", query: rows("link", "hip_id, film_id"), key: []string{"hip_id", "film_id"}, any: true},
		{table: "reading_list", query: rows("reading_list", "seq"), key: []string{"assigned", "kind", "seed", "at"}, apart: []string{"seq", "id"}},
		{table: "setting", query: "SELECT * FROM setting WHERE key <> 'reader codes' ORDER BY key", key: []string{"key"}},
		{table: "variable", query: rows("variable", "of, name"), key: []string{"of", "name"}, apart: revised},
		{table: "value", query: rows("value", "of, id, name"), key: []string{"of", "id", "name"}},
		{table: "reading", query: "SELECT reading.*, edges.head AS head_edges, edges.cup AS cup_edges FROM reading JOIN edges ON edges.reading = reading.seq ORDER BY reading.seq", key: []string{"id"}, apart: []string{"seq"}},
		{table: "withdrawal", query: rows("withdrawal", "seq")},
		{table: "exclusion", query: rows("exclusion", "seq")},
		{table: "grade", query: rows("grade", "seq")},
		{table: "event", query: rows("event", "seq")},
		{table: "unblinding", query: rows("unblinding", "seq"), key: []string{"list_id"}, apart: []string{"seq"}},
		{table: "draft", query: rows("draft", "hip_id, film_id, kind"), key: []string{"hip_id", "film_id", "kind"}, any: true},
		{table: "list_draft", query: rows("list_draft", "list_id, place"), key: []string{"list_id", "place"}, any: true},
	}
}

// mergedRow is a row of one of them.
type mergedRow struct {
	of     mergedTable
	names  []string
	values []any
}

func (r mergedRow) value(name string) any {
	if i := slices.Index(r.names, name); i >= 0 {
		return r.values[i]
	}
	return nil
}

func (r mergedRow) set(name string, to func(was string) string) {
	if i := slices.Index(r.names, name); i >= 0 {
		if was, ok := r.values[i].(string); ok {
			r.values[i] = to(was)
		}
	}
}

// keyText says of what a row is.
func (r mergedRow) keyText() string {
	var parts []string
	for i, name := range r.names {
		switch {
		case len(r.of.key) == 0 && name != "seq" || slices.Contains(r.of.key, name):
			parts = append(parts, fmt.Sprint(r.values[i]))
		}
	}
	return strings.Join(parts, " ")
}

// where finds a row that has been written by its key.
func (t mergedTable) where(r mergedRow) (string, []any) {
	var list []string
	var args []any
	for _, name := range t.key {
		list, args = append(list, name+" = ?"), append(args, r.value(name))
	}
	return "WHERE " + strings.Join(list, " AND "), args
}

func mergedRows(ctx context.Context, q Querier, t mergedTable) ([]mergedRow, error) {
	rows, err := q.QueryContext(ctx, t.query)
	if err != nil {
		return nil, err
	}
	defer rows.Close() // the error of Err is the one to tell
	names, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	var out []mergedRow
	for rows.Next() {
		values, err := scanCells(rows.Scan, len(names))
		if err != nil {
			return nil, err
		}
		out = append(out, mergedRow{t, slices.Clone(names), values})
	}
	return out, rows.Err()
}

// scanCells reads a row of n columns. No bytes are bytes, too, where SQLite's driver has none.
func scanCells(scan scanner, n int) ([]any, error) {
	values, cells := make([]any, n), make([]any, n)
	for i := range values {
		cells[i] = &values[i]
	}
	err := scan(cells...)
	for i, v := range values {
		if b, ok := v.([]byte); ok && b == nil {
			values[i] = []byte{}
		}
	}
	return values, err
}

func insertRow(ctx context.Context, to Querier, table string, names []string, values []any) error {
	_, err := to.ExecContext(ctx, fmt.Sprintf("INSERT INTO %s (%s) VALUES (?%s)", table, strings.Join(names, ", "), strings.Repeat(", ?", len(names)-1)), values...)
	return err
}

// merger takes into one study what another holds.
type merger struct {
	a, b  Querier
	sites [2]string
	by    study.Stamp
	id    map[string]string // of each hip, film and event of the other, which it is in the new one, by "hip H1"
	last  map[string]int64  // number of hips and films
	taken map[string]bool   // their IDs
	fresh []mergedRow       // to be added
	done  study.Merged
}

// compare finds what is new in the other study, and what contradicts.
func (g *merger) compare(ctx context.Context) error {
	g.last, g.taken = map[string]int64{}, map[string]bool{}
	for table, letter := range map[string]string{"hip": "H", "film": "F"} {
		for _, q := range []Querier{g.a, g.b} {
			n, err := lastID(ctx, q, table, letter)
			if err != nil {
				return err
			}
			g.last[table] = max(g.last[table], n)
		}
	}
	for _, t := range mergedTables() {
		mine, err := mergedRows(ctx, g.a, t)
		if err != nil {
			return err
		}
		theirs, err := mergedRows(ctx, g.b, t)
		if err != nil {
			return err
		}
		g.table(t, mine, theirs)
	}
	return nil
}

func (g *merger) table(t mergedTable, mine, theirs []mergedRow) {
	known := map[string]mergedRow{}
	pictures := picturesOf(mine)
	for i, r := range mine {
		g.toSite(r, g.sites[0])
		if id, ok := r.value("id").(string); ok {
			g.taken[t.table+" "+id] = true
		}
		known[g.key(r, pictures, fmt.Sprint("mine ", i))] = r
	}
	if t.table == "reading_list" {
		g.last[t.table] = int64(len(mine))
	}
	seen := map[string]bool{}
	for i, r := range theirs {
		g.toSite(r, g.sites[1])
		g.rename(r)
		key := g.key(r, pictures, fmt.Sprint("theirs ", i))
		was, same := known[key]
		switch {
		case seen[key] && len(t.key) > 0:
			g.done.Clashes = append(g.done.Clashes, named("merge.twice", "Of", t.table, "ID", key))
			continue
		case same:
			g.done.Count(t.table).Same++
			g.differences(was, r)
		}
		seen[key] = true
		g.settle(r, was, same)
	}
}

// settle says which row a row of the other study is in the new one, and adds it where it is
// new.
func (g *merger) settle(r, was mergedRow, same bool) {
	switch id, _ := r.value("id").(string); r.of.table {
	case "hip", "film":
		name := r.of.table + " " + id
		switch {
		case same:
			g.id[name] = was.value("id").(string)
		case g.taken[name]:
			g.last[r.of.table]++
			g.id[name] = fmt.Sprint(map[string]string{"hip": "H", "film": "F"}[r.of.table], g.last[r.of.table])
		default:
			g.id[name] = id
		}
		g.taken[r.of.table+" "+g.id[name]] = true
		r.set("id", func(string) string { return g.id[name] })
	case "reading_list": // numbered without a gap
		if g.id["reading_list "+id], _ = was.value("id").(string); !same {
			g.last["reading_list"]++
			g.id["reading_list "+id] = fmt.Sprint("L", g.last["reading_list"])
			r.set("id", func(string) string { return g.id["reading_list "+id] })
		}
	case "event":
		if same {
			g.id[fmt.Sprint("event ", r.value("seq"))] = fmt.Sprint(was.value("seq"))
		}
	}
	if !same {
		g.fresh = append(g.fresh, r)
	}
}

// toSite gives a row a site where it has none.
func (g *merger) toSite(r mergedRow, site string) {
	switch r.of.table {
	case "hip", "patient":
		r.set("site", func(was string) string {
			if was == "" {
				return site
			}
			return was
		})
	case "value":
		if r.value("of") == string(study.OfPatient) {
			r.set("id", func(was string) string {
				if strings.HasPrefix(was, "/") {
					return site + was
				}
				return was
			})
		}
	}
}

// rename gives a row of the other study the IDs of the new one.
func (g *merger) rename(r mergedRow) {
	as := func(table string) func(string) string {
		return func(was string) string {
			if id, ok := g.id[table+" "+was]; ok {
				return id
			}
			return was
		}
	}
	r.set("hip_id", as("hip"))
	r.set("film_id", as("film"))
	r.set("list_id", as("reading_list"))
	r.set("places", func(was string) string {
		var list []study.Place
		if decode(was, &list) != nil {
			return was
		}
		for i := range list {
			p := &list[i]
			p.HipID, p.FilmID, p.Double = as("hip")(p.HipID), as("film")(p.FilmID), as("film")(p.Double)
		}
		texts, err := encode(list)
		if err != nil {
			return was
		}
		return texts[0]
	})
	if r.of.table == "hip" {
		r.set("baseline", as("film"))
	}
	if of, _ := r.value("of").(string); r.of.table == "value" && of != string(study.OfPatient) {
		r.set("id", as(of))
	}
}

// picturesOf is the films of the first study, by what names their pictures.
func picturesOf(list []mergedRow) map[string]string {
	out := map[string]string{}
	for i, r := range list {
		for _, column := range []string{"pixel_key", "sha256"} {
			if text, _ := r.value(column).(string); text != "" && r.of.table == "film" {
				out[column+" "+text] = fmt.Sprint("mine ", i)
			}
		}
	}
	return out
}

// key says of what a row is; of a film, which picture of the first study, else own.
func (g *merger) key(r mergedRow, pictures map[string]string, own string) string {
	switch r.of.table {
	case "film":
	case "event":
		return g.taking(r).keyText()
	default:
		return r.keyText()
	}
	for _, column := range []string{"pixel_key", "sha256"} {
		text, _ := r.value(column).(string)
		if at, ok := pictures[column+" "+text]; ok && text != "" {
			return at
		}
	}
	return own
}

// taking returns an event with what it takes back as the first study numbers it, where that
// has it.
func (g *merger) taking(r mergedRow) mergedRow {
	i := slices.Index(r.names, "takes_back")
	if seq, ok := g.id[fmt.Sprint("event ", r.values[i])]; ok {
		r.values = slices.Clone(r.values)
		r.values[i] = seq
	}
	return r
}

// differences are the contradictions between two rows of one thing.
func (g *merger) differences(mine, theirs mergedRow) {
	if mine.of.any || len(mine.of.key) == 0 {
		return
	}
	for i, name := range mine.names {
		if slices.Contains(mine.of.apart, name) || reflect.DeepEqual(mine.values[i], theirs.value(name)) {
			continue
		}
		label := mine.keyText()
		if mine.of.table == "film" {
			label = fmt.Sprint(mine.value("id"))
		}
		g.done.Clashes = append(g.done.Clashes, named("merge.clash", "Of", mine.of.table, "ID", label, "Column", name,
			"Mine", cell(mine.values[i]), "Theirs", cell(theirs.value(name))))
	}
}

// cell is a value for people.
func cell(v any) string {
	if b, ok := v.([]byte); ok {
		return fmt.Sprintf("%d bytes", len(b))
	}
	return fmt.Sprint(v)
}

// keepTrail keeps the rows of the other study's trail that the first has not.
func (g *merger) keepTrail(ctx context.Context, to Querier) error {
	have := map[string]bool{}
	if err := trail(ctx, g.a, func(row study.TrailRow) error { have[row.Hash] = true; return nil }); err != nil {
		return err
	}
	var fresh []study.TrailRow
	if err := trail(ctx, g.b, func(row study.TrailRow) error {
		if !have[row.Hash] {
			fresh = append(fresh, row)
		}
		return nil
	}); err != nil {
		return err
	}
	for _, row := range fresh {
		text, err := json.Marshal(row)
		if err != nil {
			return err
		}
		if err := addTrail(ctx, to, study.TrailRow{Stamp: g.by, What: "study", ID: fmt.Sprint("joined ", row.Seq), New: string(text)}); err != nil {
			return err
		}
	}
	g.done.Trail = len(fresh)
	return nil
}
