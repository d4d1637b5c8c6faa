package study

import "context"

// Search asks for head and cup to be looked for on a film of a hip.
type Search struct {
	HipID   string `json:"hip"`
	FilmID  string `json:"film"`
	SHA256  string `json:"sha256"`  // of the film
	Version string `json:"version"` // of the program that looks
	Again   bool   `json:"again"`   // also where nothing was found before
}

// SearchEnd is how a search ended, and what it proposes.
type SearchEnd struct {
	Link
	Draft *Draft // of the kind Proposed; nil where there is none
	By    Stamp
}

// Shared is a study whose films several programs search at once, on any number of machines.
type Shared interface {
	Store
	// Ask asks for searches, but for those that wait already or are at work. It returns how
	// many are new.
	Ask(ctx context.Context, list []Search) (int, error)
	// Serve does searches of a version of the program, n at once, until nobody has any left
	// to do or at work, and returns how many it has done. What a search proposes is kept in the transaction in
	// which it counts as done, so that each is kept once; one that ends with ErrNotHere or
	// ErrSearched is given up, one whose program was killed is done by another.
	Serve(ctx context.Context, version string, n int, search func(ctx context.Context, s Search) (SearchEnd, error)) (int, error)
}

// ErrNotHere is the error of a search for which something is not at hand here.
var ErrNotHere = NewError("file.not-here", nil)

// ErrSearched is the error of a search that is not wanted any more.
var ErrSearched = NewError("file.searched", nil)
