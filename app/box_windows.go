//go:build !headless

package main

import "golang.org/x/sys/windows"

// box shows a message in a window of the system's own.
func box(text string) {
	words, err := windows.UTF16PtrFromString(text)
	if err != nil {
		return // a NUL in it: it stands in the error output, too
	}
	title, _ := windows.UTF16PtrFromString("Linerwatch")
	windows.MessageBox(0, words, title, windows.MB_ICONERROR)
}
