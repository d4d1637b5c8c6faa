package ui

import (
	"runtime/debug"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/theme"

	"linerwatch/app/session"
	"linerwatch/app/study"
	_ "linerwatch/app/ui/locale" // before the toolkit reads the environment
	"linerwatch/assets"
)

// Config is what the window needs from main.
type Config struct {
	// OpenStore opens or creates a study file.
	OpenStore func(path string) (study.Store, error)
	// Paths are films and folders to open at the start.
	Paths []string
	// Study is a study file to open at the start, or empty.
	Study string
	// Version of the program, kept with each reading.
	Version string
}

// gcPercent keeps the memory near what a hip's films take: they are large, live
// long and hold no pointers, so collecting more often costs little.
const gcPercent = 12

// afterFirstFrame is when the first screen has been painted and the areas for films
// can be made, which take longer.
const afterFirstFrame = 50 * time.Millisecond

// Run shows the window until the reader closes it.
func Run(cfg Config) error {
	debug.SetGCPercent(gcPercent)
	// Without a name the toolkit keeps no preferences in a file, which it would write
	// in place and find broken after a window was killed; named afterwards, it keeps
	// them in memory. The program's own settings are session's.
	a := app.NewWithID("")
	app.SetMetadata(fyne.AppMetadata{ID: "io.linerwatch.linerwatch", Name: "Linerwatch", Version: cfg.Version})
	a.SetIcon(fyne.NewStaticResource("icon.png", assets.Icon))
	w := bareWindow(a, session.New(session.Config{
		Post: fyne.Do, OpenStore: cfg.OpenStore, Version: cfg.Version, SettingsPath: session.DefaultSettingsPath(),
		UnfinishedPath: session.DefaultUnfinishedPath(),
	}), fyne.Do)
	// Finding the fonts of the system takes as long as making the window: do both at
	// once, and fill the window when both are done.
	go func() {
		for _, bold := range []bool{false, true} {
			fyne.MeasureText("Linerwatch", theme.TextSize(), fyne.TextStyle{Bold: bold})
		}
	}()
	a.Lifecycle().SetOnStarted(func() {
		w.frame()
		w.refresh()
		if cfg.Study != "" || len(cfg.Paths) > 0 {
			w.areas()
			w.start(cfg)
			return
		}
		time.AfterFunc(afterFirstFrame, func() { fyne.Do(func() { w.areas(); w.start(cfg) }) })
	})
	w.win.ShowAndRun()
	return w.s.Close()
}

// start opens what the caller named, once the toolkit runs.
func (w *window) start(cfg Config) {
	if cfg.Study != "" {
		w.openPath(cfg.Study)
	}
	if len(cfg.Paths) > 0 {
		w.add(cfg.Paths)
	}
	w.focusViewer()
}
