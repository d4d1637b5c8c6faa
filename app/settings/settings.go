// Package settings keeps what the program remembers of its user, in a file of the user's own
// configuration folder, for window and commands.
package settings

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
)

// Settings are what the program remembers of its user.
type Settings struct {
	Reader   string   // code or initials put on accepted readings
	Recent   []string // study files, the last one first
	Study    string   // the study file that was open last and is no demo
	Light    bool     // the window is light, for a bright room
	Archive  string   // that was asked last
	Language string   `json:",omitempty"` // the code of that of window and commands; empty takes the system's
	Print    Print
	Blind    []string `json:",omitempty"` // reading lists that were read on this account, the last one last
}

// Print are how pages were printed last.
type Print struct {
	Clinic   string // the clinic's own heading
	Whom     string // whom a patient may ask
	Paper    string // the code of its size
	Language string // the code of the language of pages
}

// DefaultPath returns the place of the settings in the user's own configuration folder, or ""
// where there is none.
func DefaultPath() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "linerwatch", "settings.json")
}

// Load reads the settings; a missing or damaged file gives none, since nothing in it is worth
// stopping for.
func Load(path string) Settings {
	var s Settings
	if path == "" {
		return s
	}
	data, err := os.ReadFile(path)
	if err != nil || json.Unmarshal(data, &s) != nil {
		return Settings{}
	}
	return s
}

// Save replaces the file in one step, so that a kill leaves the old one or the new one whole;
// an empty path is none.
func (s Settings) Save(path string) error {
	if path == "" {
		return nil
	}
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), ".settings-*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(data)
	err = errors.Join(err, tmp.Close())
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(tmp.Name()))
	}
	return nil
}
