package batch

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"linerwatch/app/study"
)

// DemoStudy renders the demo study into dir, which is made where it is not there,
// measures it, and puts it into a study file there, whose path it returns. Readings
// of an earlier demo study stay.
func DemoStudy(ctx context.Context, dir string, files study.Files, by study.Stamp, progress func(done, total int)) (string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	hips, err := Demo(ctx, dir, progress)
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "demo"+study.FileExt)
	st, err := OpenOrCreate(ctx, path, files)
	if err != nil {
		return "", err
	}
	return path, errors.Join(SaveDemo(ctx, st, hips, by), st.SetSetting(ctx, demoKey, "yes", by), st.Close())
}

// demoKey is the setting of a study whose films and codes are invented.
const demoKey = "demo"

// IsDemo reports whether the films and codes of a study are invented.
func IsDemo(ctx context.Context, st study.Store) (bool, error) {
	value, _, err := st.Setting(ctx, demoKey)
	return value == "yes", err
}
