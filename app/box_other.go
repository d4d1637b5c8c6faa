//go:build !headless && !windows

package main

import "os/exec"

// boxes are programs of desktops that show a message, each with what stands before it.
var boxes = [][]string{
	{"zenity", "--error", "--no-markup", "--title=Linerwatch", "--text"},
	{"kdialog", "--title", "Linerwatch", "--error"},
	{"xmessage", "-center"},
	{"osascript", "-e", "on run argv", "-e", "display alert (item 1 of argv)", "-e", "end run"},
}

// box has the desktop show a message, where it can, and does not wait for it.
func box(text string) {
	for _, b := range boxes {
		if program, err := exec.LookPath(b[0]); err == nil {
			if exec.Command(program, append(b[1:], text)...).Start() == nil {
				return
			}
		}
	}
}
