package session

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"linerwatch/app/study"
)

// Settings are what the program remembers of its user.
type Settings struct {
	Reader  string   // code or initials put on accepted readings
	Recent  []string // study files, the last one first
	Study   string   // the study file that was open last and is no demo
	Light   bool     // the window is light, for a bright room
	Archive string   // that was asked last
	Print   PrintSettings
}

// recentLength is how many study files are remembered.
const recentLength = 6

// DefaultSettingsPath returns the place of the settings in the user's own
// configuration folder, or "" where there is none.
func DefaultSettingsPath() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "linerwatch", "settings.json")
}

// loadSettings reads the settings; a missing or damaged file gives none, since
// nothing in it is worth stopping for.
func loadSettings(path string) Settings {
	var st Settings
	if path == "" {
		return st
	}
	data, err := os.ReadFile(path)
	if err != nil || json.Unmarshal(data, &st) != nil {
		return Settings{}
	}
	return st
}

// saveSettings replaces the file in one step, so that a kill leaves the old one
// or the new one whole.
func saveSettings(path string, st Settings) error {
	if path == "" {
		return nil
	}
	data, err := json.MarshalIndent(st, "", "  ")
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

// Light reports whether the window is light, for a bright room.
func (s *Session) Light() bool { return s.settings.Light }

// SetLight remembers whether the window is light.
func (s *Session) SetLight(on bool) error {
	s.settings.Light = on
	return saveSettings(s.cfg.SettingsPath, s.settings)
}

// Reader returns the reader's code, or "".
func (s *Session) Reader() string { return s.settings.Reader }

// SetReader takes the reader's code: one to twelve letters, digits, dots or
// hyphens.
func (s *Session) SetReader(code string) error {
	code = strings.TrimSpace(code)
	if study.ReaderFault(code) {
		return study.NewError("settings.reader", nil)
	}
	s.settings.Reader = code
	s.changed(StudyChanged)
	return errors.Join(saveSettings(s.cfg.SettingsPath, s.settings), s.book.cover())
}
