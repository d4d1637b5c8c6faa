package study

// Deidentified says what became of a film whose identity was to be removed.
type Deidentified struct {
	Film     string // path of the original
	Written  string // path of the film without identity; "" where none was written
	Patient  string // the new code
	Fault    Note   // why none was written
	Warnings []Note
}
