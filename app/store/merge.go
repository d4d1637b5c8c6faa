package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

// Merge makes a study at out of two study files, which are not changed. A hip is one by its
// site, patient and side, a film by its picture, a reading by its ID. What both hold is kept
// once, and all else of both; what they say otherwise of one thing is returned, and nothing
// is written. sites are the codes that hips and patients of each get where they have none.
//
// The trail of the new study is that of the first file, and then what was taken from the
// other; each row of the other's own trail that the first has not is kept whole in a row of
// it.
func Merge(ctx context.Context, first, other, out string, sites [2]string, by study.Stamp) (m study.Merged, err error) {
	err = CopyTo(ctx, first, func(a Querier) error {
		return CopyTo(ctx, other, func(b Querier) error {
			m, err = MergeOf(ctx, a, b, out, sites, by)
			return err
		})
	})
	if err != nil {
		return study.Merged{}, err
	}
	return m, nil
}

// MergeOf is Merge of one moment of each study.
func MergeOf(ctx context.Context, a, b Querier, out string, sites [2]string, by study.Stamp) (study.Merged, error) {
	g := &merger{a: a, b: b, sites: sites, by: by, id: map[string]string{}}
	err := g.compare(ctx)
	if err == nil && len(g.done.Clashes) == 0 {
		if err = createWith(ctx, out, func(to Querier) error { return g.write(ctx, to) }); err != nil {
			err = refusal(out, err)
		}
	}
	return g.done, err
}

// write copies the first study, and takes what is new from the other.
func (g *merger) write(ctx context.Context, to Querier) error {
	if err := CopyRows(ctx, g.a, to); err != nil {
		return err
	}
	if err := g.nameSite(ctx, to); err != nil {
		return err
	}
	for _, r := range g.fresh {
		if err := g.add(ctx, to, r); err != nil {
			return err
		}
	}
	if err := g.oneList(ctx, to); err != nil {
		return err
	}
	return g.keepTrail(ctx, to)
}

// oneList refuses a study in which a reader has two lists to read.
func (g *merger) oneList(ctx context.Context, to Querier) error {
	all, err := lists(ctx, to, "WHERE unblinding.list_id IS NULL")
	if err != nil {
		return err
	}
	open := map[string]string{}
	for _, l := range all {
		done, err := listDone(ctx, to, l.ID)
		if err != nil {
			return err
		}
		if l.Left(done) == 0 {
			continue
		}
		if was, has := open[l.Reader]; has {
			return refused("merge.two-lists", "Reader", l.Reader, "List", was, "Other", g.listBefore(l.ID))
		}
		open[l.Reader] = l.ID
	}
	return nil
}

// listBefore is what the other study calls a list of the new one.
func (g *merger) listBefore(id string) string {
	for was, now := range g.id {
		if before, is := strings.CutPrefix(was, "reading_list "); is && now == id {
			return before
		}
	}
	return id
}

// nameSite gives the hips and patients of the first study that have no site theirs.
func (g *merger) nameSite(ctx context.Context, to Querier) error {
	if g.sites[0] == "" {
		return nil
	}
	list, err := hips(ctx, to, "WHERE site = ''")
	if err != nil {
		return err
	}
	for _, h := range list {
		h.Site = g.sites[0]
		if _, err := saveHip(ctx, to, h, g.by); err != nil {
			return err
		}
	}
	if err := traced(ctx, to, ofPatient, g.by, func() error {
		_, err := to.ExecContext(ctx, "UPDATE patient SET site = ? WHERE site = ''", g.sites[0])
		return err
	}, ""); err != nil {
		return err
	}
	return traced(ctx, to, ofValue, g.by, func() error {
		_, err := to.ExecContext(ctx, "UPDATE value SET id = ? || id WHERE of = 'patient' AND substr(id, 1, 1) = '/'", g.sites[0])
		return err
	}, "")
}

// add writes a row of the other study, and tells the trail.
func (g *merger) add(ctx context.Context, to Querier, r mergedRow) error {
	g.done.Count(r.of.table).Added++
	insert := func(names []string, values []any) error { return insertRow(ctx, to, r.of.table, names, values) }
	switch id, _ := r.value("id").(string); r.of.table {
	case "hip":
		if err := insert(r.names, r.values); err != nil {
			return err
		}
		list, err := hips(ctx, to, "WHERE id = ?", id)
		return errors.Join(err, addAll(list, func(h study.Hip) error { return addChange(ctx, to, "hip", id, nil, h, g.by) }))
	case "film":
		if err := insert(r.names, r.values); err != nil {
			return err
		}
		list, err := films(ctx, to, "WHERE id = ?", id)
		return errors.Join(err, addAll(list, func(f study.Film) error { return addChange(ctx, to, "film", id, nil, f, g.by) }))
	case "reading":
		return g.addReading(ctx, to, r, id)
	case "draft", "list_draft":
		return insert(r.names, r.values)
	}
	names, values := r.names, r.values
	if names[0] == "seq" {
		return g.addNumbered(ctx, to, r)
	}
	k := trackedOf(r.of.table)
	where, key := r.of.where(r)
	return traced(ctx, to, k, g.by, func() error { return insert(names, values) }, where, key...)
}

func addAll[T any](list []T, add func(T) error) error {
	for _, v := range list {
		if err := add(v); err != nil {
			return err
		}
	}
	return nil
}

func trackedOf(table string) tracked {
	for _, k := range allTracked() {
		if k.what == table {
			return k
		}
	}
	panic("store: no such table: " + table)
}

// addReading writes a reading of the other study with its edge points.
func (g *merger) addReading(ctx context.Context, to Querier, r mergedRow, id string) error {
	n := len(r.names) - 2 // edges are last, the number is first
	if err := insertRow(ctx, to, "reading", r.names[1:n], r.values[1:n]); err != nil {
		return err
	}
	_, err := to.ExecContext(ctx, "INSERT INTO edges (reading, head, cup) SELECT seq, ?, ? FROM reading WHERE id = ?", r.values[n], r.values[n+1], id)
	if err != nil {
		return err
	}
	text := func(name string) string { v, _ := r.value(name).(string); return v }
	k := readingTrail{Hip: text("hip_id"), Film: text("film_id"), Status: text("status"), Supersedes: text("supersedes")}
	if k.Columns, k.Digest, err = readingDigest(ctx, to, id, 0); err != nil {
		return err
	}
	return addChange(ctx, to, "reading", id, nil, k, g.by)
}

// addNumbered writes a row of which the number is another in the new study.
func (g *merger) addNumbered(ctx context.Context, to Querier, r mergedRow) error {
	names, values := r.names[1:], r.values[1:]
	if i := slices.Index(names, "takes_back"); i >= 0 && values[i] != nil {
		seq, err := strconv.ParseInt(g.id[fmt.Sprint("event ", values[i])], 10, 64)
		if err != nil {
			return study.ErrUnknown
		}
		values[i] = seq
	}
	insert := fmt.Sprintf("INSERT INTO %s (%s) VALUES (?%s)", r.of.table, strings.Join(names, ", "), strings.Repeat(", ?", len(names)-1))
	seq, err := inserted(ctx, to, trackedOf(r.of.table), g.by, insert, values...)
	if r.of.table == "event" {
		g.id[fmt.Sprint("event ", r.values[0])] = fmt.Sprint(seq)
	}
	return err
}
