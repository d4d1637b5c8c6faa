package ui

import (
	"errors"
	"image"
	"runtime/debug"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/canvas"

	"linerwatch/app/session"
	"linerwatch/app/study"
	_ "linerwatch/app/ui/locale" // before the toolkit reads the environment
	"linerwatch/assets"
)

// Config is what the window needs from main.
type Config struct {
	Studies study.Files
	// Paths are films and folders to open at the start.
	Paths []string
	// Study is a study file to open at the start, or empty.
	Study string
	// ReadOnly opens studies to be read alone.
	ReadOnly bool
	// List of that study to read at the start, or empty, and its Reader.
	List, Reader string
	// Version of the program, kept with each reading.
	Version string
	// Archives is the file of what is set of image archives, or empty.
	Archives string
	// Settings is the file of what is remembered of the user, or empty.
	Settings string
}

// gcPercent keeps the memory near what a hip's films take: they are large, live
// long and hold no pointers, so collecting more often costs little.
const gcPercent = 12

// afterFirstFrame is how long after the first screen was painted the areas for films
// are made, which take longer than the first screen.
const afterFirstFrame = 50 * time.Millisecond

// Run shows the window until the reader closes it.
func Run(cfg Config) error {
	if err := screen(); err != nil {
		return err
	}
	debug.SetGCPercent(-1) // collecting would take a quarter of the start
	// Without a name the toolkit keeps no preferences in a file, which it would write
	// in place and find broken after a window was killed; named afterwards, it keeps
	// them in memory. The program's own settings are session's.
	a := app.NewWithID("")
	app.SetMetadata(fyne.AppMetadata{ID: "io.linerwatch.linerwatch", Name: "Linerwatch", Version: cfg.Version})
	if err := speakToo(); err != nil {
		fyne.LogError("texts", err)
	}
	a.SetIcon(fyne.NewStaticResource("icon.png", assets.Icon))
	w := bareWindow(a, session.New(session.Config{
		Post: fyne.Do, Studies: cfg.Studies, ReadOnly: cfg.ReadOnly, Version: cfg.Version, SettingsPath: cfg.Settings,
		StudyPath: session.DefaultStudyPath(), Leftovers: session.DefaultLeftovers(), ArchivesPath: cfg.Archives, GradesFirst: true,
	}), fyne.Do)
	a.Lifecycle().SetOnStarted(func() {
		w.frame()
		w.refresh()
		if cfg.Study != "" || len(cfg.Paths) > 0 {
			w.open(cfg)
			return
		}
		w.whenPainted(func() {
			time.AfterFunc(afterFirstFrame, func() {
				fyne.DoAndWait(func() { w.open(cfg) })
				debug.FreeOSMemory()
			})
		})
	})
	if err := appear(w.win); err != nil {
		return errors.Join(err, w.s.Close())
	}
	a.Run()
	return w.s.Close()
}

// whenPainted runs do once, while what the window shows is painted for the first time.
func (w *window) whenPainted(do func()) {
	var once sync.Once
	w.body.Add(canvas.NewRaster(func(int, int) image.Image {
		once.Do(do)
		return image.NewRGBA(image.Rect(0, 0, 1, 1))
	}))
}

// open makes the areas for films and opens what the caller named.
func (w *window) open(cfg Config) {
	w.areas()
	debug.SetGCPercent(gcPercent)
	w.start(cfg)
}

// start opens what the caller named, once the toolkit runs.
func (w *window) start(cfg Config) {
	if cfg.List != "" {
		w.openList(cfg)
		return
	}
	if cfg.Study != "" {
		w.openPath(cfg.Study)
	}
	if len(cfg.Paths) > 0 {
		w.add(cfg.Paths)
	}
	if cfg.Study == "" && len(cfg.Paths) == 0 {
		w.goOn(w.askLeftover)
	} else {
		w.askLeftover()
	}
	w.focusViewer()
}
