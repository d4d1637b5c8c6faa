package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// The exit codes.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
)

// Env is what the commands need from outside.
type Env struct {
	Stdout, Stderr io.Writer
	Progress       bool                // show progress on Stderr, which is a terminal
	Version        string              // of the program
	Now            func() time.Time    // nil for time.Now
	Getenv         func(string) string // the environment, which tells the language; nil is an empty one
	Language       string              // the code of the language that the user has chosen, or ""
	// SystemLanguage is the language of a system that does not tell it by the environment; nil,
	// or "", of one that does.
	SystemLanguage func() string

	Studies  study.Files
	Stdin    io.Reader // of which a password may be read; nil is none
	Archives string    // the file of what is set of image archives; "" is none
	// OpenWindow opens the window on films or on a study file and returns when
	// it is closed. It is nil where there can be no window; NoWindow says why.
	OpenWindow func(paths []string, studyFile string) error
	// LookAt opens the window on a study to be read alone. It is nil where OpenWindow is.
	LookAt func(studyFile string) error
	// ReadList opens the window on a reading list of a study file, and on nothing before it.
	// It is nil where OpenWindow is.
	ReadList func(studyFile, listID, reader string) error
	NoWindow string
}

// command is one word of the command line.
type command struct {
	name  string
	usage string // arguments, after the name
	about string // the key of its line in the list; its page is in assets/help
	// studies says that the command opens study files, and takes --upgrade.
	studies bool
	run     func(ctx context.Context, c *call) error
}

// commands are those of the command line, in the order of the help.
func commands() []command {
	return []command{
		measureCommand,
		trendCommand,
		filmCommand,
		studyCommand,
		resultsCommand,
		reportCommand,
		deidentifyCommand,
		fetchCommand,
		archiveCommand,
		fitCommand,
		agreeCommand,
		demoCommand,
	}
}

// usageError is a wrong use of the program; hint says what to do.
type usageError struct{ fault, hint string }

func (e *usageError) Error() string {
	if e.hint == "" {
		return e.fault
	}
	return e.fault + "; " + e.hint
}

// errPartly says that results were printed but something in them failed. The
// results or earlier lines on stderr say what.
var errPartly = errors.New("a film or study failed")

// Run carries out args, without the program's name, and returns the exit code. What it
// prints of files commands no terminal: all of it passes report.Visible.
func Run(ctx context.Context, args []string, env Env) int {
	out := report.NewVisible(env.Stdout)
	env.Stdout = out
	texts.Lacking(func(language, key string) {
		complain(env, errors.New(texts.Say("language.lacks", texts.Values{"Code": language, "Key": key})))
	})
	if env.Now == nil {
		env.Now = time.Now
	}
	args, err := speak(args, env)
	if err == nil {
		err = dispatch(ctx, args, env)
	}
	if last := out.Flush(); last != nil {
		err = errors.Join(err, last)
	}
	var usage *usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errPartly):
		return exitFailed
	case errors.As(err, &usage):
		complain(env, err)
		return exitUsage
	case errors.Is(err, context.Canceled):
		complain(env, errors.New(texts.Say("cli.stopped", nil)))
		return exitFailed
	}
	complain(env, err)
	return exitFailed
}

// complain writes one line to stderr. There is nobody left to tell where that
// fails.
func complain(env Env, err error) {
	_, _ = fmt.Fprintf(env.Stderr, "linerwatch: %s\n", report.OneLine(strings.ReplaceAll(study.Told(err), "\n", "; ")))
}

func dispatch(ctx context.Context, args []string, env Env) error {
	if len(args) == 0 {
		return openWindow(env, nil)
	}
	name, rest := args[0], args[1:]
	switch name {
	case "help", "--help", "-help", "-h":
		return help(env, rest)
	case "version", "--version", "-version":
		_, err := fmt.Fprintf(env.Stdout, "linerwatch %s\n", env.Version)
		return err
	}
	if name == "--read-only" {
		return lookAt(env, rest)
	}
	for _, c := range commands() {
		if c.name == name {
			return runCommand(ctx, c, rest, env)
		}
	}
	if strings.HasPrefix(name, "-") {
		return &usageError{texts.Say("cli.before-command", texts.Values{"Flag": name}), tryHelp("")}
	}
	for _, path := range args {
		if _, err := os.Stat(path); err != nil && !study.IsAddress(path) {
			return &usageError{texts.Say("cli.neither", texts.Values{"Word": path}), commandsAre()}
		}
	}
	return openWindow(env, args)
}

// lookAt opens the window on a study to be read alone.
func lookAt(env Env, args []string) error {
	switch {
	case env.LookAt == nil:
		return &usageError{env.NoWindow, ""}
	case len(args) != 1 || !study.IsFile(args[0]):
		return &usageError{texts.Say("look.one-study", nil), "linerwatch --read-only FILE" + study.FileExt}
	}
	return env.LookAt(args[0])
}

// openWindow opens the window on films, or on a study file.
func openWindow(env Env, paths []string) error {
	if env.OpenWindow == nil {
		return &usageError{env.NoWindow, texts.Say("cli.no-window", texts.Values{"Names": commandNames()})}
	}
	if len(paths) == 1 && study.IsFile(paths[0]) {
		return env.OpenWindow(nil, paths[0])
	}
	return env.OpenWindow(paths, "")
}

// commandsAre is the hint where a command was meant.
func commandsAre() string {
	return texts.Say("cli.commands-are", texts.Values{"Names": commandNames()})
}

// tryHelp is the hint to look at the help, that of a command where one is named.
func tryHelp(command string) string {
	return texts.Say("cli.try-help", texts.Values{"Command": command})
}

func commandNames() string {
	var names []string
	for _, c := range commands() {
		names = append(names, c.name)
	}
	names = slices.Insert(names, len(names), "help", "version")
	return strings.Join(names, ", ")
}
