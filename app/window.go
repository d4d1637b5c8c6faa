//go:build !headless

package main

import (
	"os"
	"runtime"

	"linerwatch/app/archive"
	"linerwatch/app/settings"
	"linerwatch/app/study"
	"linerwatch/app/ui"
)

// noWindow says why a window cannot be shown here, or "".
func noWindow() string {
	switch runtime.GOOS {
	case "windows", "darwin":
		return ""
	}
	if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
		return "there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set)"
	}
	return ""
}

// systemLanguage is the language of the system where it tells that otherwise than by the
// environment, or "".
func systemLanguage() string {
	switch runtime.GOOS {
	case "windows", "darwin":
		return ui.SystemLanguage()
	}
	return ""
}

// openWindow shows the window until it is closed. Why it cannot is shown in a box where
// nobody sees the error output, as of a program started from the desktop.
func openWindow(paths []string, studyFile string) error {
	return run(ui.Config{Paths: paths, Study: studyFile})
}

// lookAt shows a study in the window to be read alone.
func lookAt(studyFile string) error { return run(ui.Config{Study: studyFile, ReadOnly: true}) }

// readList shows a reading list in the window until that is closed.
func readList(studyFile, list, reader string) error {
	return run(ui.Config{Study: studyFile, List: list, Reader: reader})
}

func run(cfg ui.Config) error {
	cfg.Studies, cfg.Version, cfg.Archives, cfg.Settings = studies(), version(), archive.DefaultPath(), settings.DefaultPath()
	err := ui.Run(cfg)
	if err != nil && !isTerminal(os.Stderr) {
		box(study.Told(err))
	}
	return err
}
