// Command linerwatch measures on serial hip films how far the femoral head has
// moved into the polyethylene liner. Without arguments, or with films, it opens
// the window; with a command it works without one.
//
// Built with the tag headless it has no window and needs no cgo.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime"
	"time"

	"linerwatch/app/archive"
	"linerwatch/app/cli"
	"linerwatch/app/settings"
	"linerwatch/app/store"
	"linerwatch/app/store/central"
	"linerwatch/app/study"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	env := cli.Env{
		Stdout: os.Stdout, Stderr: os.Stderr, Progress: isTerminal(os.Stderr),
		Version: version(), Now: time.Now, Getenv: os.Getenv, Studies: studies(),
		Stdin: os.Stdin, Archives: archive.DefaultPath(),
		Language: settings.Load(settings.DefaultPath()).Language, SystemLanguage: systemLanguage,
	}
	if env.NoWindow = noWindow(); env.NoWindow == "" {
		env.OpenWindow, env.ReadList, env.LookAt = openWindow, readList, lookAt
	}
	args := os.Args[1:]
	if runtime.GOOS == "windows" { // where no shell does it
		args = wildcards(args)
	}
	code := cli.Run(ctx, args, env)
	stop()
	os.Exit(code)
}

// studies opens studies in files and on servers; nothing else knows which is which.
func studies() study.Files { return central.Files(store.Files()) }

func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
