package batch

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

const (
	newKey      = 32       // bytes of a key that is made
	mostKey     = 4096     // bytes of a key
	mostKeyFile = 64 << 20 // bytes of a key file with the days of its patients
)

// keyHead is the first line of a key file: without it any file would be taken for a key,
// and added to.
const keyHead = "linerwatch key\n"

// shiftsHead begins the lines of a key file that are no part of the key: who, new code
// and days, one patient each, with tabs between.
const shiftsHead = "\n# days that dates were moved by, no part of the key: patient, new code, days\n"

// CheckKeyFile refuses a key file that would go where the films go.
func CheckKeyFile(key, out string) error {
	switch {
	case key == "":
		return study.NewError("key.none", nil)
	case out == "":
		return study.NewError("out.none", nil)
	case Inside(out, key):
		return study.NewError("key.inside", study.Values{"Path": key, "Out": out})
	}
	return nil
}

// DeidentifyKey reads the secret key in the file at path, or makes a random one
// there that only its owner can read. The key is what follows keyHead; what NoteShifts has
// written is no part of it. A file from before there was a keyHead is known by that alone.
func DeidentifyKey(path string) (key []byte, made bool, err error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		key, err = makeKey(path)
		return key, true, err
	case err != nil:
		return nil, false, study.WrapError(err, "key.fault", study.Values{"Why": study.NoteOf(err)})
	case !info.Mode().IsRegular():
		return nil, false, study.NewError("key.no-file", study.Values{"Path": path})
	case info.Size() > mostKeyFile:
		return nil, false, study.NewError("key.long", study.Values{"Path": path, "Bytes": float64(info.Size()), "Most": float64(mostKeyFile)})
	}
	if key, err = os.ReadFile(path); err != nil {
		return nil, false, study.WrapError(err, "key.fault", study.Values{"Why": study.NoteOf(err)})
	}
	key, headed := bytes.CutPrefix(key, []byte(keyHead))
	key, _, shifted := bytes.Cut(key, []byte(shiftsHead))
	if !headed && !shifted {
		return nil, false, study.NewError("key.strange", study.Values{"Path": path, "Head": strings.TrimSpace(keyHead)})
	}
	if len(key) > mostKey {
		return nil, false, study.NewError("key.long", study.Values{"Path": path, "Bytes": float64(len(key)), "Most": float64(mostKey)})
	}
	if _, err := dicomio.NewDeidentifier(key); err != nil {
		return nil, false, study.WrapError(err, "key.bad", study.Values{"Path": path, "Why": study.NoteOf(err)})
	}
	return key, false, nil
}

// makeKey writes a random key to a new file, which is on disk when it returns.
func makeKey(path string) (key []byte, err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, study.WrapError(err, "key.fault", study.Values{"Why": study.NoteOf(err)})
	}
	key = make([]byte, newKey)
	_, _ = rand.Read(key) // which cannot fail
	_, err = f.WriteString(keyHead + string(key))
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return nil, errors.Join(study.WrapError(err, "key.fault", study.Values{"Why": study.NoteOf(err)}), os.Remove(path))
	}
	return key, nil
}

// NoteShifts adds to the key file at path by how many days the dates of the films were
// moved, a line for each patient that has none there yet, so that other dates of theirs
// can be moved alike. It appends alone: the key is not touched.
func NoteShifts(path string, films []study.Deidentified) error {
	err := noteShifts(path, films)
	if err != nil {
		return study.WrapError(err, "key.shifts", study.Values{"Path": path, "Why": study.NoteOf(err)})
	}
	return nil
}

func noteShifts(path string, films []study.Deidentified) error {
	was, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	var add strings.Builder
	if !bytes.Contains(was, []byte(shiftsHead)) {
		add.WriteString(shiftsHead)
	} else if was[len(was)-1] != '\n' {
		add.WriteByte('\n') // after a line that was cut
	}
	noted := map[string]bool{}
	for _, f := range films {
		line := fmt.Sprintf("%s\t%s\t%d\n", oneField(f.Of), f.Patient, f.Days)
		if f.Written == "" || noted[line] || bytes.Contains(was, []byte("\n"+line)) {
			continue
		}
		noted[line] = true
		add.WriteString(line)
	}
	if len(noted) == 0 {
		return nil
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return err
	}
	_, err = f.WriteString(add.String())
	return errors.Join(err, f.Sync(), f.Close())
}

// oneField is a text without what parts fields and lines.
func oneField(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, s)
}
