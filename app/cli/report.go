package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/report"
	"linerwatch/app/report/paper"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

var reportCommand = command{
	name:    "report",
	studies: true,
	usage:   "patient|reader|study|figure [NAME] FILE.linerwatch [--hip HIP] --out FILE.pdf",
	about:   "command.report",
	run:     runReport,
}

// reportKinds are what can be reported, by their words.
var reportKinds = map[string]func(ctx context.Context, c *call) error{
	"patient": reportPatient,
	"reader":  reportReader,
	"study":   reportStudy,
	"figure":  reportFigure,
}

func runReport(ctx context.Context, c *call) error {
	if len(c.films) == 0 || reportKinds[c.films[0]] == nil {
		return c.fail("linerwatch report patient FILE"+study.FileExt+" --hip HIP --out FILE.pdf", "say first what to write: patient, reader, study or figure")
	}
	kind := c.films[0]
	c.films = c.films[1:]
	return reportKinds[kind](ctx, c)
}

// sheet are the flags of a report of one hip.
type sheet struct {
	hip, out, heading, whom, readings, by *string
	unchecked                             *bool
	pace                                  float64
	size                                  paper.Size
	speech                                texts.Speech
}

func (c *call) sheet() *sheet {
	s := &sheet{hip: c.flags.String("hip", "", ""), out: c.flags.String("out", "", ""), heading: c.flags.String("heading", "", ""),
		whom: c.flags.String("whom", "", ""), readings: c.flags.String("readings-of", "", ""), by: c.by(), unchecked: c.flags.Bool("unchecked", false, "")}
	c.speech(&s.speech)
	c.paper(&s.size)
	c.replaces()
	return s
}

// speech is the language of what is written: that of the flag, else that which the
// program speaks.
func (c *call) speech(s *texts.Speech) {
	*s = c.spoken()
	c.flags.Func("language", "", func(code string) (err error) {
		own, ok := texts.In(code)
		if !ok {
			return errors.New("it is " + strings.Join(texts.Codes(), " or "))
		}
		*s = own
		return nil
	})
}

// spoken is the language that the program speaks.
func (c *call) spoken() texts.Speech {
	own, ok := texts.In(texts.Spoken())
	if !ok {
		own, _ = texts.In(texts.English)
	}
	return own
}

// paper is the size of pages.
func (c *call) paper(size *paper.Size) {
	*size = paper.A4
	c.flags.Func("paper", "", func(word string) (err error) {
		if *size, err = paper.ParseSize(word); err != nil {
			return errors.New("it is a4 or letter")
		}
		return nil
	})
}

// parseSheet reads the flags and says what is missing.
func (c *call) parseSheet(s *sheet) error {
	if err := c.parse(); err != nil {
		return err
	}
	switch {
	case len(c.films) != 1:
		return c.fail("linerwatch report patient FILE"+study.FileExt+" --hip HIP --out FILE.pdf", "name one study file")
	case *s.hip == "":
		return c.fail("name one of those that linerwatch study list names: --hip HIP", "no hip")
	case *s.out == "":
		return c.fail("name a file: --out FILE.pdf", "nowhere to write to")
	case !strings.EqualFold(filepath.Ext(*s.out), ".pdf"):
		return c.fail("name it FILE.pdf", "--out %s: a report is a PDF", *s.out)
	case sameFile(*s.out, c.films[0]):
		return c.fail("choose another name", "--out would overwrite the study file")
	}
	return nil
}

// ofHip reads the flags and hands the hip that they name to write, with whose readings count.
func (c *call) ofHip(ctx context.Context, s *sheet, write func(st study.Store, r study.Record, whose string) error) (err error) {
	if err := c.parseSheet(s); err != nil {
		return err
	}
	st, err := c.lookStudy(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	r, whose, err := c.recordFor(ctx, st, s)
	if err != nil {
		return err
	}
	if _, err := c.altered(ctx, st); err != nil {
		return err
	}
	if err := write(st, r, whose); !errors.Is(err, study.ErrNoneAccepted) {
		return err
	}
	return fmt.Errorf("%s: no reading of the hip has been accepted; --unchecked writes what the program proposes, and says so", c.name)
}

// recordFor returns the record of the hip and whose readings count.
func (c *call) recordFor(ctx context.Context, st study.Store, s *sheet) (r study.Record, reader string, err error) {
	if r, err = c.recordOf(ctx, st, *s.hip); err != nil {
		return r, "", err
	}
	reader, err = readingsOf(ctx, st, *s.readings)
	if err == nil {
		err = c.readOf(r, *s.readings, reader)
	}
	if err != nil {
		return r, "", err
	}
	var films []string
	for _, f := range r.Films {
		if f.Path != "" {
			films = append(films, f.Path)
		}
	}
	return r, reader, c.target("out", *s.out, films)
}

// readOf refuses a rule that was asked for, where it counts a reader's readings alone and
// that reader has read nothing of the hip.
func (c *call) readOf(r study.Record, asked string, rule study.Rule) error {
	if who := study.ReaderOf(rule); asked != "" && who != "" && !slices.Contains(r.Readers(), who) {
		return c.fail("leave --readings-of out, or name a reader of the hip", "no reading by %q of %s", who, r.Hip.Label())
	}
	return nil
}

// saveReport writes what is handed out of a hip, which the audit trail then tells.
func (c *call) saveReport(ctx context.Context, st study.Store, s *sheet, d study.Disclosure, write func(io.Writer) error) error {
	if err := c.save(*s.out, write); err != nil {
		return err
	}
	return c.discloses(ctx, st, c.films[0], *s.by, d)
}

// save writes a file, and says so.
func (c *call) save(path string, write func(io.Writer) error) error {
	if err := report.SaveFile(path, c.over, write); err != nil {
		return fmt.Errorf("%s: %w", c.name, err)
	}
	_, err := fmt.Fprintf(c.Stdout, "written: %s\n", path)
	return err
}
