// Package ui is the window: it mirrors a session.Session and turns events into
// calls of its methods. It computes nothing about films.
//
//	err := ui.Run(ui.Config{Studies: studies, Paths: os.Args[1:], Version: version})
//
// The viewer's picture is made by package raster, without the toolkit; widgets
// hold no logic. Everything here runs on the toolkit's goroutine; work in the
// background comes back through fyne.Do.
package ui
