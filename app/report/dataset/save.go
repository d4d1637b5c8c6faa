package dataset

import (
	"context"
	"errors"
	"slices"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// Save writes a study as a data package into the folder at path, or nothing. With Replace an
// export that is there is replaced as a whole. The errors are those of Write and of
// report.NewFolder, and ErrNoReader.
func Save(ctx context.Context, from Source, path string, over report.Over, o Options) (told Told, err error) {
	folder, err := report.NewFolder(path, over, Files())
	if err != nil {
		return told, err
	}
	defer func() { err = errors.Join(err, folder.Drop()) }()
	if told, err = Write(ctx, from, folder.Create, o); err != nil {
		return told, err
	}
	if who := study.ReaderOf(o.Whose); o.Named && who != "" && !slices.Contains(told.Readers, who) {
		return told, ErrNoReader
	}
	return told, folder.Finish(over, Files())
}

// ErrNoReader is the error of a reader who was named and has no reading in the study.
var ErrNoReader = errors.New("dataset: no reading by that reader")
