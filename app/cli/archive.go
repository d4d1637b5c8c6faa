package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"linerwatch/app/archive"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var archiveCommand = command{
	name:  "archive",
	usage: "[list | add NAME ADDRESS | check NAME | send NAME FILE... | remove NAME] [FLAGS...]",
	about: "command.archive",
	run:   runArchive,
}

func runArchive(ctx context.Context, c *call) error {
	var s archive.Settings
	c.flags.StringVar(&s.User, "user", "", "")
	keep := c.flags.Bool("keep-password", false, "")
	c.flags.StringVar(&s.PasswordFile, "password-file", "", "")
	c.flags.StringVar(&s.Called, "called", "", "")
	c.flags.StringVar(&s.Calling, "calling", "", "")
	c.flags.StringVar(&s.Receive, "receive", "", "")
	c.flags.BoolVar(&s.TLS, "tls", false, "")
	c.flags.StringVar(&s.CA, "ca", "", "")
	c.flags.StringVar(&s.Cert, "cert", "", "")
	c.flags.StringVar(&s.Key, "key", "", "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	list, err := archive.Load(c.Archives)
	if err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	word, args := "list", c.films
	if len(args) > 0 {
		word, args = args[0], args[1:]
	}
	switch {
	case word == "list" && len(args) == 0:
		return c.listArchives(list)
	case word == "add" && len(args) == 2:
		s.Name, s.Address = args[0], args[1]
		return c.addArchive(ctx, list, s, *keep)
	case word == "check" && len(args) == 1:
		return c.checkArchive(ctx, list, args[0])
	case word == "send" && len(args) > 1:
		return c.sendTo(ctx, list, args[0], args[1:])
	case word == "remove" && len(args) == 1:
		return c.removeArchive(ctx, list, args[0])
	}
	return c.fail(tryHelp(c.name), say("archive.nothing-to-do", "What", strings.Join(c.films, " ")))
}

// say writes one line of what was done.
func (c *call) say(text string) error {
	_, err := fmt.Fprintf(c.Stderr, "linerwatch: %s: %s\n", c.name, report.OneLine(text))
	return err
}

func (c *call) listArchives(list []archive.Settings) error {
	var rows []report.Archive
	for _, s := range list {
		kind := "DICOM"
		if s.Web() {
			kind = "DICOMweb"
		}
		rows = append(rows, report.Archive{Name: s.Name, Kind: kind, Address: s.Address, User: s.User, Called: s.Called, Calling: s.Calling, Receive: s.Receive})
	}
	return report.Archives(c.Stdout, c.form, rows)
}

func (c *call) addArchive(ctx context.Context, list []archive.Settings, s archive.Settings, keep bool) error {
	if !s.Web() && s.Calling == "" {
		s.Calling = "LINERWATCH"
	}
	if err := s.Check(); err != nil {
		return c.fail(tryHelp(c.name), study.Told(err))
	}
	s, err := s.Whole()
	if err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	if keep && (s.User == "" || s.PasswordFile != "") {
		return c.fail(say("archive.name-user"), say("archive.no-user-kept"))
	}
	if keep {
		password, err := c.password()
		if err != nil {
			return err
		}
		if err := c.secrets().Keep(ctx, s, password); err != nil {
			return fmt.Errorf("archive: %w", err)
		}
	}
	list = slices.DeleteFunc(list, func(o archive.Settings) bool { return o.Name == s.Name })
	if err := archive.Save(c.Archives, append(list, s)); err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	if s.Clear() {
		return c.say(say("archive.is-set-clear", "Name", s.Name, "Clear", study.NoteWords(study.Note{Code: "archive.clear"})))
	}
	return c.say(say("archive.set-now", "Name", s.Name, "Again", s.Name))
}

// password reads one line.
func (c *call) password() (string, error) {
	if c.Stdin == nil {
		return "", errors.New(say("archive.no-stdin"))
	}
	line, _ := bufio.NewReader(c.Stdin).ReadString('\n') // one that ends the input is a line, too
	if line = strings.TrimRight(line, "\r\n"); line == "" {
		return "", errors.New(say("archive.no-password-given"))
	}
	return line, nil
}

// asked returns the archive of a name, ready to be asked.
func (c *call) asked(ctx context.Context, list []archive.Settings, name string) (*archive.Archive, error) {
	s, err := archive.Named(list, name)
	if err != nil {
		return nil, c.fail(say("archive.lists-those"), study.Told(err))
	}
	a, err := archive.Open(ctx, s, c.secrets())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.name, err)
	}
	return a, nil
}

func (c *call) secrets() archive.Secrets { return archive.Secrets{Getenv: c.Getenv} }

func (c *call) checkArchive(ctx context.Context, list []archive.Settings, name string) error {
	a, err := c.asked(ctx, list, name)
	if err != nil {
		return err
	}
	defer a.Close()
	if err := a.Ask(ctx); err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	return c.say(say("archive.answers", "Name", name))
}

func (c *call) sendTo(ctx context.Context, list []archive.Settings, name string, paths []string) error {
	a, err := c.asked(ctx, list, name)
	if err != nil {
		return err
	}
	defer a.Close()
	show, clear := c.progress(say("cli.sends"))
	done, failed := 0, []string{}
	err = a.Send(ctx, paths, func(path string, err error) {
		if err != nil {
			failed = append(failed, path+": "+study.Told(err))
		} else {
			done++
		}
		if show != nil {
			show(done+len(failed), len(paths))
		}
	})
	clear()
	for _, f := range failed {
		if err := c.say(say("archive.not-sent-file", "File", f)); err != nil {
			return err
		}
	}
	if said := c.say(say("archive.sent", "Done", done, "N", len(paths), "Name", name)); said != nil {
		return said
	}
	if err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	if len(failed) > 0 {
		return errPartly
	}
	return nil
}

func (c *call) removeArchive(ctx context.Context, list []archive.Settings, name string) error {
	s, err := archive.Named(list, name)
	if err != nil {
		return c.fail(say("archive.lists-those"), study.Told(err))
	}
	list = slices.DeleteFunc(list, func(o archive.Settings) bool { return o.Name == name })
	if err := archive.Save(c.Archives, list); err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	if s.User != "" {
		if err := c.secrets().Forget(ctx, s); err != nil {
			return fmt.Errorf("archive: %s: %w", say("archive.removed-not-password", "Name", name), err)
		}
	}
	return c.say(say("archive.removed", "Name", name))
}
