package archive

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/zalando/go-keyring"

	"linerwatch/app/study"
)

// mostWait is how long the keyring may take: it may ask its owner to unlock it.
const mostWait = 30 * time.Second

// errNoRing is the error of a system without a keyring.
var errNoRing = study.NewError("archive.no-ring", nil)

// Secrets are where passwords are looked for: in the environment, in a file that only its
// owner can read, in the system's keyring. None is kept anywhere else, nor told.
type Secrets struct {
	Getenv func(string) string // nil is the system's
}

func (s Secrets) env(name string) string {
	if s.Getenv == nil {
		return os.Getenv(name)
	}
	return s.Getenv(name)
}

// Variable is the name of the environment variable with the password of an archive.
func Variable(archive string) string {
	return "LINERWATCH_PASSWORD_" + strings.ReplaceAll(strings.ToUpper(archive), "-", "_")
}

// Of returns the password of an archive's user; "" where it has no user.
func (s Secrets) Of(ctx context.Context, a Settings) (string, error) {
	if a.User == "" {
		return "", nil
	}
	if p := s.env(Variable(a.Name)); p != "" {
		return p, nil
	}
	if a.PasswordFile != "" {
		return inFile(a.PasswordFile)
	}
	p, err := s.ring(ctx, func() (string, error) { return keyring.Get(serviceOf(a), a.User) })
	switch {
	case errors.Is(err, keyring.ErrNotFound):
		return "", study.NewError("archive.no-password", study.Values{"Name": a.Name, "Variable": Variable(a.Name)})
	case err != nil && ctx.Err() == nil:
		return "", study.WrapError(err, "archive.ring", study.Values{"Name": a.Name, "Variable": Variable(a.Name), "Why": study.NoteOf(err)})
	}
	return p, err
}

// Keep keeps the password of an archive's user in the system's keyring.
func (s Secrets) Keep(ctx context.Context, a Settings, password string) error {
	_, err := s.ring(ctx, func() (string, error) { return "", keyring.Set(serviceOf(a), a.User, password) })
	if err != nil && ctx.Err() == nil {
		return study.WrapError(err, "archive.ring-keep", study.Values{"Why": study.NoteOf(err), "Variable": Variable(a.Name)})
	}
	return err
}

// Forget takes the password of an archive's user out of the keyring. There need be none.
func (s Secrets) Forget(ctx context.Context, a Settings) error {
	_, err := s.ring(ctx, func() (string, error) { return "", keyring.Delete(serviceOf(a), a.User) })
	if errors.Is(err, keyring.ErrNotFound) || errors.Is(err, errNoRing) {
		return nil
	}
	return err
}

func serviceOf(a Settings) string { return "linerwatch archive " + a.Name }

// ring asks the keyring, which may wait for its owner without end: what it does after
// that is not waited for.
func (s Secrets) ring(ctx context.Context, ask func() (string, error)) (string, error) {
	if !s.hasRing() {
		return "", errNoRing
	}
	ctx, stop := context.WithTimeoutCause(ctx, mostWait, study.NewError("archive.ring-waits", nil))
	defer stop()
	type answer struct {
		text string
		err  error
	}
	done := make(chan answer, 1)
	go func() {
		text, err := ask()
		done <- answer{text, err}
	}()
	select {
	case a := <-done:
		return a.text, a.err
	case <-ctx.Done():
		return "", context.Cause(ctx)
	}
}

// hasRing reports whether there may be a keyring: where no session bus runs, asking for it
// would start one.
func (s Secrets) hasRing() bool {
	if runtime.GOOS != "linux" || s.env("DBUS_SESSION_BUS_ADDRESS") != "" {
		return true
	}
	run := s.env("XDG_RUNTIME_DIR")
	_, err := os.Stat(filepath.Join(run, "bus"))
	return run != "" && err == nil
}

// inFile reads a password file, which only its owner may be able to read.
func inFile(path string) (string, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return "", study.WrapError(err, "archive.password-file", study.Values{"Why": study.NoteOf(err)})
	case !info.Mode().IsRegular() || info.Size() > 4096:
		return "", study.NewError("archive.password-none", study.Values{"Path": path})
	case runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0:
		return "", study.NewError("archive.password-open", study.Values{"Path": path})
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return "", study.WrapError(err, "archive.password-file", study.Values{"Why": study.NoteOf(err)})
	}
	p := strings.TrimRight(string(data), "\r\n")
	if p == "" || strings.ContainsAny(p, "\r\n") {
		return "", study.NewError("archive.password-none", study.Values{"Path": path})
	}
	return p, nil
}
