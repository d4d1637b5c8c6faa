package source

import (
	"os"

	"linerwatch/dicomio"
)

// Directory is the DICOMDIR of a disc (PS3.10 section 8.6), which lists its films. They
// are files beside it.
type Directory struct{ Folder }

// Place implements Source.
func (d Directory) Place(name string) (whole string, ok bool) {
	info, err := os.Stat(name)
	whole, _ = d.Folder.Place(name)
	return whole, err == nil && info.Mode().IsRegular() && dicomio.IsDICOMDIR(name)
}

// List implements Source. Films are in the order of the DICOMDIR.
func (Directory) List(name string) ([]string, error) { return dicomio.FilmsListed(name) }

// Sort is List, and tells what else is listed.
func (Directory) Sort(name string) (films []string, passed []*dicomio.Fault, err error) {
	return dicomio.SurveyListed(name)
}
