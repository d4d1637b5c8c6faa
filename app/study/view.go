package study

// View is how a film was taken.
type View string

// The views. A film that says nothing is taken as AP.
const (
	AP      View = "AP"
	Lateral View = "lateral" // cross-table
)
