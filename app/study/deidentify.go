package study

// Deidentified says what became of a film whose identity was to be removed.
type Deidentified struct {
	Film     string // path of the original
	Written  string // path of the film without identity; "" where none was written
	Patient  string // the new code
	Of       string // who the film was of: Patient ID and its issuer, else the study's UID
	Days     int    // that its dates were moved by, below 0
	Fault    Note   // why none was written
	Warnings []Note
}
