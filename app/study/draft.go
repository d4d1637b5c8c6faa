package study

import (
	"context"
	"time"
)

// Draft is unfinished work on a film: what was on the screen and not accepted.
// It is no reading; it is replaced as the work goes on and dropped when the film
// is accepted.
type Draft struct {
	Film     Film
	At       time.Time
	Outlines []byte // JSON of whoever edits them; "null" for a film that was merely open
}

// DraftStore is a Store that also keeps drafts.
type DraftStore interface {
	// SaveDraft keeps d as the draft of its film for the hip, which must have been
	// saved, in place of an earlier one.
	SaveDraft(ctx context.Context, hipID string, d Draft) error
	DropDraft(ctx context.Context, hipID, filmID string) error
	Drafts(ctx context.Context, hipID string) ([]Draft, error)
}

// Exclusion is a reader's decision to leave a film out of the trend, or to take
// it back in where Code is empty. Exclusions are never changed: of several for
// one film the last one stands.
type Exclusion struct {
	HipID, FilmID string
	Code          string // one of ExclusionCodes, or empty
	Note          string
	Reader        string
	At            time.Time
	Version       string // of the program
}

// ExclusionStore is a Store that also keeps exclusions.
type ExclusionStore interface {
	AddExclusion(ctx context.Context, e Exclusion) error
	// Exclusions returns every one of the hip's films, oldest first.
	Exclusions(ctx context.Context, hipID string) ([]Exclusion, error)
}

// SettingStore is a Store that also keeps settings of the study.
type SettingStore interface {
	Setting(ctx context.Context, key string) (value string, ok bool, err error)
	SetSetting(ctx context.Context, key, value string) error
}

// ExclusionCode is a reason to leave a film out.
type ExclusionCode struct{ Code, Words string }

// ExclusionCodes lists the reasons in the order in which they are offered.
func ExclusionCodes() []ExclusionCode {
	return []ExclusionCode{
		{"projection", "pelvis turned or tilted, or another view"},
		{"cut-off", "head or cup not wholly on the film"},
		{"exposure", "too dark, too bright or blurred to outline"},
		{"wrong-hip", "another patient, another side or another date"},
		{"revised", "from after an exchange of head or liner"},
		{"other", "another reason"},
	}
}

// ExclusionWords returns the words of a code, or the code itself.
func ExclusionWords(code string) string {
	for _, c := range ExclusionCodes() {
		if c.Code == code {
			return c.Words
		}
	}
	return code
}
