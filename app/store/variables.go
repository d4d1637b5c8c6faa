package store

import (
	"context"
	"database/sql"
	"errors"
	"strings"

	"linerwatch/app/study"
)

func variables(ctx context.Context, q querier, where string, args ...any) ([]study.Variable, error) {
	return collect(ctx, q, "SELECT of, name, type, unit, choices, label, revision FROM variable "+where+" ORDER BY of, name", args,
		func(scan scanner) (v study.Variable, err error) {
			var choices string
			if err = scan(&v.Of, &v.Name, &v.Type, &v.Unit, &choices, &v.Label, &v.Revision); err != nil {
				return v, err
			}
			return v, decode(choices, &v.Choices)
		})
}

// Variables implements study.Store.
func (s *Tables) Variables(ctx context.Context) ([]study.Variable, error) {
	list, err := variables(ctx, s.main(), "")
	if err != nil {
		return nil, s.fault(named("store.read-variables"), err)
	}
	return list, nil
}

// SaveVariable implements study.Store.
func (s *Tables) SaveVariable(ctx context.Context, v study.Variable, by study.Stamp) (study.Variable, error) {
	saved := v
	err := s.commit(ctx, named("store.save-variable", "Name", v.Name), func(tx querier) (err error) {
		saved, err = saveVariable(ctx, tx, v, by)
		return err
	})
	return saved, err
}

func saveVariable(ctx context.Context, tx querier, v study.Variable, by study.Stamp) (study.Variable, error) {
	was, err := variables(ctx, tx, "WHERE of = ? AND name = ?", string(v.Of), v.Name)
	if err != nil {
		return v, err
	}
	before := firstOf(was)
	if err := unchanged(v, before, v.Revision, before.Revision); err != nil {
		return v, err
	}
	has, err := values(ctx, tx, " WHERE of = ? AND name = ?", string(v.Of), v.Name)
	if err != nil {
		return v, err
	}
	for _, o := range has {
		if err := v.Check(o.Text); err != nil {
			return v, wrapped(err, "variable.misfit", "Name", v.Name)
		}
	}
	texts, err := encode(v.Choices)
	if err != nil {
		return v, err
	}
	v.Revision++
	err = tracedExec(ctx, tx, ofVariable, by, "WHERE of = ? AND name = ?", []any{string(v.Of), v.Name}, `INSERT INTO variable (of, name, type, unit, choices, label, revision) VALUES (?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (of, name) DO UPDATE SET type = excluded.type, unit = excluded.unit, choices = excluded.choices,
		label = excluded.label, revision = excluded.revision`,
		string(v.Of), v.Name, string(v.Type), v.Unit, texts[0], v.Label, v.Revision)
	return v, err
}

func scanValue(scan scanner) (v study.Value, err error) {
	err = scan(&v.Of, &v.ID, &v.Name, &v.Text)
	return v, err
}

func values(ctx context.Context, q querier, where string, args ...any) ([]study.Value, error) {
	return collect(ctx, q, "SELECT of, id, name, text FROM value"+where+" ORDER BY of, id, name", args, scanValue)
}

// Values implements study.Store.
func (s *Tables) Values(ctx context.Context, of study.VariableOf, id string) ([]study.Value, error) {
	list, err := values(ctx, s.main(), " WHERE of = ? AND id = ?", string(of), id)
	if err != nil {
		return nil, s.fault(named("store.read-values", "ID", short(id)), err)
	}
	return list, nil
}

// SetValues implements study.Store.
func (s *Tables) SetValues(ctx context.Context, list []study.Value, by study.Stamp) error {
	return s.commit(ctx, named("store.set-values"), func(tx querier) error { return setValues(ctx, tx, list, by) })
}

func setValues(ctx context.Context, tx querier, list []study.Value, by study.Stamp) error {
	if len(list) == 0 {
		return nil
	}
	known, err := variables(ctx, tx, "")
	if err != nil {
		return err
	}
	for _, v := range list {
		if err := setValue(ctx, tx, known, v, by); err != nil {
			return err
		}
	}
	return nil
}

func setValue(ctx context.Context, tx querier, known []study.Variable, v study.Value, by study.Stamp) error {
	if err := study.CheckValue(known, v); err != nil {
		return err
	}
	if there, err := hasOwner(ctx, tx, v); err != nil {
		return err
	} else if !there {
		return wrapped(study.ErrUnknown, "store.value-of", "Of", string(v.Of), "ID", v.ID)
	}
	key := []any{string(v.Of), v.ID, v.Name}
	const that = "WHERE of = ? AND id = ? AND name = ?"
	if v.Text == "" {
		return tracedExec(ctx, tx, ofValue, by, that, key, "DELETE FROM value "+that, key...)
	}
	return tracedExec(ctx, tx, ofValue, by, that, key,
		"INSERT INTO value (of, id, name, text) VALUES (?, ?, ?, ?) ON CONFLICT (of, id, name) DO UPDATE SET text = excluded.text", append(key, v.Text)...)
}

// hasOwner reports whether the study has what a value is of.
func hasOwner(ctx context.Context, tx querier, v study.Value) (bool, error) {
	query, args := "SELECT 1 FROM "+string(v.Of)+" WHERE id = ?", []any{v.ID}
	if v.Of == study.OfPatient {
		site, code, _ := strings.Cut(v.ID, "/")
		query, args = "SELECT 1 FROM patient WHERE site = ? AND code = ?", []any{site, code}
	}
	var one int
	err := tx.QueryRowContext(ctx, query, args...).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}
