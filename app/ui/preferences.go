package ui

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"runtime"
)

// appID names the program to the toolkit.
const appID = "io.linerwatch.linerwatch"

// mendPreferences takes away the file in which the toolkit keeps how its file dialog
// looked, where that is not whole: the toolkit writes it in place, and a window that
// is killed leaves part of it. Nothing of the program is in it.
func mendPreferences(dir string) error {
	path := filepath.Join(dir, appID, "preferences.json")
	text, err := os.ReadFile(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return err
	case json.Valid(text):
		return nil
	}
	return os.Remove(path)
}

// toolkitFolder is where the toolkit keeps its files.
func toolkitFolder() (string, error) {
	dir, err := os.UserConfigDir()
	if runtime.GOOS == "darwin" {
		dir, err = os.UserHomeDir()
		dir = filepath.Join(dir, "Library", "Preferences")
	}
	return filepath.Join(dir, "fyne"), err
}
