package batch

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"linerwatch/app/study"
)

// Record reads everything that a study keeps of one hip.
func Record(ctx context.Context, st study.Store, h study.Hip) (study.Record, error) {
	r := study.Record{Hip: h}
	var err error
	if r.Films, err = st.Films(ctx, h.ID); err != nil {
		return r, err
	}
	if r.Readings, err = st.Readings(ctx, h.ID); err != nil {
		return r, err
	}
	if x, ok := st.(study.ExclusionStore); ok {
		if r.Exclusions, err = x.Exclusions(ctx, h.ID); err != nil {
			return r, err
		}
	}
	if d, ok := st.(study.DraftStore); ok {
		list, err := d.Drafts(ctx, h.ID)
		if err != nil {
			return r, err
		}
		for _, x := range list {
			if string(x.Outlines) != "null" {
				r.Drafts++
			}
		}
	}
	return r, nil
}

// Records hands every hip of a study to each, one at a time: outlines with their
// edge points are large.
func Records(ctx context.Context, st study.Store, each func(study.Record) error) error {
	hips, err := st.Hips(ctx)
	if err != nil {
		return err
	}
	return RecordsOf(ctx, st, hips, each)
}

// RecordsOf is Records of some of a study's hips.
func RecordsOf(ctx context.Context, st study.Store, hips []study.Hip, each func(study.Record) error) error {
	for _, h := range hips {
		if err := ctx.Err(); err != nil {
			return err
		}
		r, err := Record(ctx, st, h)
		if err != nil {
			return err
		}
		if err := each(r); err != nil {
			return err
		}
	}
	return nil
}

// OpenExisting opens a study file that must be there.
func OpenExisting(path string, open func(path string) (study.Store, error)) (study.Store, error) {
	switch info, err := os.Stat(path); {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("batch: there is no study file %s", path)
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, fmt.Errorf("batch: %s is a folder, not a study file", filepath.Base(path))
	case open == nil:
		return nil, errors.New("batch: no store is set up")
	}
	return open(path)
}

// countsKey is the setting of a study that says whose readings count.
const countsKey = "readings that count"

// CountsOf returns whose readings count in a study: a reader's code, or
// study.Anyone for the latest reading of each film.
func CountsOf(ctx context.Context, st study.Store) (string, error) {
	x, ok := st.(study.SettingStore)
	if !ok {
		return study.Anyone, nil
	}
	reader, _, err := x.Setting(ctx, countsKey)
	return reader, err
}

// SetCounts keeps in a study whose readings count. A study that keeps no settings
// is left as it is.
func SetCounts(ctx context.Context, st study.Store, reader string) error {
	x, ok := st.(study.SettingStore)
	if !ok {
		return nil
	}
	return x.SetSetting(ctx, countsKey, reader)
}
