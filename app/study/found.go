package study

import "time"

// Series is a series of a patient's images that an archive has.
type Series struct {
	Study, UID  string // UIDs
	Patient     string // code, as the archive has it
	Date        time.Time
	Modality    string // "DX", "CR", ...
	Description string // of the series, else of the study
	BodyPart    string
	Side        Side
	Images      int  // how many it has; 0 where the archive does not say
	MayBeFilms  bool // by its modality, and by what its images are
}

// Fetched says what became of a film that was asked of an archive.
type Fetched struct {
	Instance string // UID
	Path     string // where it is; "" where it did not come
	Here     bool   // it was there already
	Fault    string // why it did not come
}
