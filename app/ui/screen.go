package ui

import (
	"errors"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver"
	"github.com/go-gl/glfw/v3.3/glfw"

	"linerwatch/app/study"
)

// screen asks the system for a screen to draw on. The toolkit asks again, and ends in a
// panic where there is none.
func screen() (err error) {
	defer func() { // its library logs why the system refused, and says so only by panicking
		if recover() != nil {
			err = study.NewError("window.no-screen", nil)
		}
	}()
	if err := glfw.Init(); err != nil {
		return errors.Join(study.NewError("window.no-screen", nil), err)
	}
	glfw.GetMonitors()
	return nil
}

// appear shows the window for the first time. Where the system cannot draw in it, which the
// toolkit logs and then waits for ever, the error says so.
func appear(win fyne.Window) error {
	win.Show()
	there := true
	if n, ok := win.(driver.NativeWindow); ok {
		n.RunNative(func(context any) { there = drawn(context) })
	}
	if there {
		return nil
	}
	return study.NewError("window.no-gl", nil)
}

// drawn reports whether there is a window behind what the toolkit says of it.
func drawn(context any) bool {
	switch c := context.(type) {
	case driver.X11WindowContext:
		return c.WindowHandle != 0
	case driver.WaylandWindowContext:
		return c.WaylandSurface != 0
	case driver.WindowsWindowContext:
		return c.HWND != 0
	case driver.MacWindowContext:
		return c.NSWindow != 0
	}
	return true
}
