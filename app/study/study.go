package study

import (
	"context"
	"time"

	"linerwatch/measure"
)

// Implant is what the operation note says.
type Implant struct {
	HeadMM  float64 // head diameter, mm
	LinerMM float64 // liner thickness, mm; 0 where unknown
	PE      string  // polyethylene: "XLPE", "conventional" or "" where unknown

	HeadMaterial string  // code of HeadMaterials, or "" where unknown
	ShellMM      float64 // outer diameter of shell or cup, mm; 0 where unknown
	Fixation     string  // code of Fixations, or "" where unknown
}

// Hip is one hip replacement.
type Hip struct {
	ID         string
	Patient    string // code, never a name
	Group      string // of the study, such as an arm; may be empty
	Side       measure.Side
	Surgery    time.Time // UTC midnight
	Implant    Implant
	StartYears float64 // films at or after this time count for the steady state
	Baseline   string  // film ID; empty for the earliest film
	BeamOff    bool    // films are not to be corrected for the cone beam
}

// Film is one film of a hip.
type Film struct {
	ID          string
	HipID       string
	Path        string
	SHA256      string
	Patient     string
	Date        time.Time // UTC midnight
	Side        measure.Side
	Width       int
	Height      int
	SpacingMM   float64 // detector mm per pixel as the file says; 0 where it does not
	SpacingKind string
	View        View      // empty where nothing tells it: taken as AP
	SourceMM    float64   // source to detector as the file says, mm; 0 where it does not
	Given       BeamGiven // what a reader states in place of the file
}

// Status says how the measurement of a film ended.
type Status string

// The statuses.
const (
	Measured Status = "measured"
	Refused  Status = "refused" // the film shows nothing that could be measured; Reason says why
	Failed   Status = "failed"  // the file could not be read; Reason says why
)

// Measurement is the outcome for one hip on one film: the outlines as they lie on
// the film, and what is read from them.
type Measurement struct {
	Film      Film
	Status    Status
	Reason    string
	Side      measure.Side
	Head      measure.Outline
	Cup       measure.Outline
	CupKind   measure.CupKind
	HeadMM    float64
	Line      Line // reference line of the film
	Rim       Rim  // along the cup's opening, where drawn
	Reading   measure.Reading
	How       Method    // how Reading was read
	Beam      BeamUse   // what was done about the cone beam
	Corrected Corrected // the outlines that Reading is of, where corrected
	Warnings  []Warning
}

// Reading is a measurement that a reader accepted. Readings are never
// overwritten: a later one names the one it replaces, and one that its reader takes
// back is kept, marked as withdrawn.
type Reading struct {
	ID         string
	FilmID     string
	Reader     string
	At         time.Time
	Version    string // of the program
	Supersedes string // ID of an earlier reading, or empty
	Measurement
	Withdrawn *Withdrawal // nil where the reading stands
}

// Store keeps a study. Every Save and Add is durable when it returns.
type Store interface {
	Hips(ctx context.Context) ([]Hip, error)
	SaveHip(ctx context.Context, h Hip) error
	Films(ctx context.Context, hipID string) ([]Film, error)
	SaveFilm(ctx context.Context, f Film) error
	// Readings returns every reading of the hip's films, oldest first.
	Readings(ctx context.Context, hipID string) ([]Reading, error)
	AddReading(ctx context.Context, r Reading) error
	Close() error
}
