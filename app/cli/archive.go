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
	return c.fail("try: linerwatch help archive", "nothing to do with %q", strings.Join(c.films, " "))
}

// say writes one line of what was done.
func (c *call) say(format string, args ...any) error {
	_, err := fmt.Fprintf(c.Stderr, "linerwatch: %s: %s\n", c.name, report.OneLine(fmt.Sprintf(format, args...)))
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
		return c.fail("try: linerwatch help archive", "%s", study.Told(err))
	}
	s, err := s.Whole()
	if err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	if keep && (s.User == "" || s.PasswordFile != "") {
		return c.fail("name the user: --user U, and no file", "no user whose password is to be kept")
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
		return c.say("%s is set; %s", s.Name, study.NoteWords(study.Note{Code: "archive.clear"}))
	}
	return c.say("%s is set; try it: linerwatch archive check %s", s.Name, s.Name)
}

// password reads one line.
func (c *call) password() (string, error) {
	if c.Stdin == nil {
		return "", errors.New("archive: there is no standard input to read the password from")
	}
	line, _ := bufio.NewReader(c.Stdin).ReadString('\n') // one that ends the input is a line, too
	if line = strings.TrimRight(line, "\r\n"); line == "" {
		return "", errors.New("archive: no password on standard input")
	}
	return line, nil
}

// asked returns the archive of a name, ready to be asked.
func (c *call) asked(ctx context.Context, list []archive.Settings, name string) (*archive.Archive, error) {
	s, err := archive.Named(list, name)
	if err != nil {
		return nil, c.fail("linerwatch archive lists those that are", "%s", study.Told(err))
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
	return c.say("%s is there and answers", name)
}

func (c *call) sendTo(ctx context.Context, list []archive.Settings, name string, paths []string) error {
	a, err := c.asked(ctx, list, name)
	if err != nil {
		return err
	}
	defer a.Close()
	show, clear := c.progress("sending:")
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
		if err := c.say("not sent: %s", f); err != nil {
			return err
		}
	}
	if said := c.say("%d of %s sent to %s", done, study.Count(len(paths), "file"), name); said != nil {
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
		return c.fail("linerwatch archive lists those that are", "%s", study.Told(err))
	}
	list = slices.DeleteFunc(list, func(o archive.Settings) bool { return o.Name == name })
	if err := archive.Save(c.Archives, list); err != nil {
		return fmt.Errorf("archive: %w", err)
	}
	if s.User != "" {
		if err := c.secrets().Forget(ctx, s); err != nil {
			return fmt.Errorf("archive: %s is no longer set, but its password is still in the keyring: %w", name, err)
		}
	}
	return c.say("%s is no longer set", name)
}
