//go:build !headless

package main

import (
	"os"
	"runtime"

	"linerwatch/app/archive"
	"linerwatch/app/store"
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

func openWindow(paths []string, studyFile string) error {
	return ui.Run(ui.Config{Studies: store.Files(), Paths: paths, Study: studyFile, Version: version, Archives: archive.DefaultPath()})
}
