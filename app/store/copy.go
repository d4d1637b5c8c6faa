package store

import (
	"context"
	"errors"
	"fmt"
	"os"
)

// Copy writes a whole, compact copy of the study to a new file at path, while
// the study stays open. It refuses to replace a file. The copy appears under
// its name only when it is complete and on the disk.
func (s *DB) Copy(ctx context.Context, path string) (err error) {
	defer func() {
		if err != nil {
			err = s.fault("copy", err)
		}
	}()
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s exists already", path)
	}
	part := path + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(part) // may not be there
		}
	}()
	if _, err := s.db.ExecContext(ctx, "VACUUM INTO ?", part); err != nil {
		return err
	}
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(part, path)
}
