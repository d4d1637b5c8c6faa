package session

import (
	"context"
	"errors"
	"image"
	"time"

	"linerwatch/app/settings"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// Change says what a view has to show anew; several may be joined.
type Change uint

// The changes.
const (
	FilmsChanged    Change = 1 << iota // films came, went or changed state
	SelectedChanged                    // another film is selected
	ViewChanged                        // camera or grey window
	OutlineChanged                     // outlines of the selected film, or what is gripped
	HipChanged                         // the hip, or the list of hips
	TrendChanged
	WorkChanged // background work: progress
	StudyChanged
	NoticeChanged
	OverviewChanged        // the hips of the study have been read
	ConflictFound          // another window has saved what was to be saved here
	FoundChanged           // what was opened is read: Intake.Found
	OutgoingChanged        // the films to be written without identity
	Everything      Change = 1<<iota - 1
)

// Config is what a Session needs from outside. Post is required.
type Config struct {
	// Post runs f later on the goroutine that owns the Session.
	Post    func(f func())
	Studies study.Files
	// ReadOnly opens studies to be read alone.
	ReadOnly bool
	// Version of the program, kept with each reading.
	Version string
	// SettingsPath is the file of reader code and recent studies; empty keeps
	// them in memory.
	SettingsPath string
	// StudyPath is the study that films go to where the reader has opened none; with an
	// empty one they are in no study until Book.Create.
	StudyPath string
	// GradesFirst has the studies that are made in this session ask for a film's quality
	// before its numbers are shown.
	GradesFirst bool
	// ArchivesPath is the file of what is set of image archives; empty is none.
	ArchivesPath string
	// Leftovers are the files in which earlier versions of the program kept drafts while
	// no study was open; those that are there are offered once.
	Leftovers []string
	// KeepBytes is how much of the films' pixels is kept decoded; 0 is 96 MiB. The
	// selected film, those before and after it and the one that it is compared with
	// are kept always.
	KeepBytes int
	// Now is the clock; nil is time.Now.
	Now func() time.Time

	// The steps of work on a film; nil takes those of source and find.
	Open func(path string) (*dicomio.Film, error)
	// OpenBlack opens a film with parts of its picture, as stored, made black.
	OpenBlack func(path string, parts []image.Rectangle) (*dicomio.Film, error)
	Detect    func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error)
	Refine    func(img *image.Gray16, start measure.Circle, part measure.Part) (measure.Outline, error)
	// RefineRing fits a wire ring.
	RefineRing func(img *image.Gray16, start measure.Ellipse, head measure.Circle, headMM float64) (measure.Outline, error)
}

// Session is one reader at work. The zero value is not ready; use New.
type Session struct {
	// OnChange is called after each change; nil is allowed.
	OnChange func(Change)

	cfg      Config
	settings settings.Settings

	hip      study.Hip
	hipKnown bool

	book     Book
	overview Overview
	strip    Strip
	intake   Intake
	viewer   Viewer
	mouse    Mouse
	edits    Edits
	given    Given
	course   Course
	history  History
	drafts   Drafts
	outgoing Outgoing

	decoded decoded
	work    Work
	notice  notice
	blind   *Blind // nil where no list is read
}

// New returns an empty session. It panics where cfg.Post is nil.
func New(cfg Config) *Session {
	if cfg.Post == nil {
		panic("session: Config.Post is nil")
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.KeepBytes == 0 {
		cfg.KeepBytes = 96 << 20
	}
	if cfg.Open == nil {
		cfg.Open = func(path string) (*dicomio.Film, error) { return source.Open(path, cfg.Now()) }
	}
	if cfg.OpenBlack == nil {
		cfg.OpenBlack = func(path string, parts []image.Rectangle) (*dicomio.Film, error) {
			return source.OpenBlack(path, cfg.Now(), parts)
		}
	}
	if cfg.Detect == nil {
		cfg.Detect = find.Hips
	}
	if cfg.Refine == nil {
		cfg.Refine = find.Refine
	}
	if cfg.RefineRing == nil {
		cfg.RefineRing = find.Ring
	}
	s := &Session{cfg: cfg}
	s.book, s.overview = Book{s: s, gradesFirst: cfg.GradesFirst}, Overview{s: s}
	s.strip, s.intake, s.decoded = Strip{s: s}, Intake{s: s}, decoded{s: s}
	s.viewer = Viewer{s: s, width: 800, height: 600, scale: 1}
	s.mouse, s.edits, s.given = Mouse{s: s}, Edits{s: s}, Given{s: s}
	s.course, s.history, s.drafts = Course{s: s}, History{s: s}, Drafts{s: s}
	s.outgoing = Outgoing{s: s}
	s.work.open(s)
	s.settings = settings.Load(cfg.SettingsPath)
	s.course.trend, s.course.err = s.course.compute()
	return s
}

func (s *Session) changed(c Change) {
	if s.OnChange != nil {
		s.OnChange(c)
	}
}

// Close stops the background work, waits until nothing of it is left, and closes the
// study file. A film that is being read is waited for.
func (s *Session) Close() error {
	s.work.queue.Close()
	s.intake.keep()
	err := errors.Join(s.drafts.Keep(), s.intake.flush())
	return errors.Join(err, s.book.close())
}
