package study

// Written says what became of a film whose results were to be written for an archive.
type Written struct {
	Film  Film
	Files []string // that were written, by name
	There bool     // they are in the folder already, of this reading
	Fault Note     // why none was, though a reading counts
	Notes []Note   // what is to be known; why none was where that is in order
}
