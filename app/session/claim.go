package session

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"

	"linerwatch/app/study"
)

// Several windows without a study keep their drafts apart: each in a file that it
// has claimed, the first in the configured one, others in numbered ones beside it.
// A claim is a small file with the number of the process beside the drafts; that
// of a process that has ended counts no more.

// maxWindows is how many windows may keep drafts without a study at a time.
const maxWindows = 20

// ownPaths returns the files in which drafts without a study may be.
func (d *Drafts) ownPaths() []string {
	base := d.s.cfg.UnfinishedPath
	if base == "" {
		return nil
	}
	ext := filepath.Ext(base)
	out := []string{base}
	for i := 2; i <= maxWindows; i++ {
		out = append(out, fmt.Sprintf("%s-%d%s", strings.TrimSuffix(base, ext), i, ext))
	}
	return out
}

func claimPath(path string) string { return path + ".pid" }

// claimed reports whether another window that still runs keeps its drafts in path.
func (d *Drafts) claimed(path string) bool {
	if path == d.path {
		return false
	}
	data, err := os.ReadFile(claimPath(path))
	if err != nil {
		return false
	}
	pid, err := strconv.Atoi(strings.TrimSpace(string(data)))
	return err == nil && running(pid)
}

// running reports whether there is a process of that number.
func running(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil || pid <= 0 {
		return false
	}
	if runtime.GOOS == "windows" {
		return true // FindProcess has looked
	}
	err = p.Signal(syscall.Signal(0))
	return err == nil || errors.Is(err, os.ErrPermission)
}

// claim takes path for this window; it fails where another was quicker.
func (d *Drafts) claim(path string) error {
	if path == d.path {
		return nil
	}
	if d.claimed(path) {
		return study.NewError("claim.taken", nil)
	}
	name := claimPath(path)
	if err := os.Remove(name); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return study.WrapError(err, "claim.taken-so", study.Values{"Why": study.NoteOf(err)})
	}
	_, err = fmt.Fprintln(f, os.Getpid())
	if err = errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, os.Remove(name))
	}
	err = d.release()
	d.path = path
	return err
}

// release closes this window's file and gives it up.
func (d *Drafts) release() error {
	var err error
	if d.own != nil {
		err, d.own = d.own.Close(), nil
	}
	if d.path != "" {
		if e := os.Remove(claimPath(d.path)); e != nil && !errors.Is(e, os.ErrNotExist) {
			err = errors.Join(err, e)
		}
		d.path = ""
	}
	return err
}
