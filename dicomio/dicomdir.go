package dicomio

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
)

// recordElements are what is read of a directory record (PS3.3 F.3.2.2).
var recordElements = sequence{bytes: maxValue, values: map[uint32]string{
	0x00041430: "CS", // Directory Record Type
	0x00041500: "CS", // Referenced File ID
}}

const recordSequence = 0x00041220 // Directory Record Sequence

// IsDICOMDIR reports whether a file has the name of a DICOMDIR (PS3.10 section 8.6).
func IsDICOMDIR(path string) bool { return strings.EqualFold(filepath.Base(path), "DICOMDIR") }

// FilmsListed returns the files of the images that a DICOMDIR lists, in its
// order. Components of a path are joined as they are; where that is no file, in
// lower case, as some systems show the names of a disc. None is an error.
func FilmsListed(path string) ([]string, error) {
	films, _, err := SurveyListed(path)
	return films, err
}

// SurveyListed is FilmsListed, and tells what the other images are, as Survey does.
func SurveyListed(path string) (films []string, passed []*Fault, err error) {
	listed, err := directoryFilms(path)
	if err != nil {
		return nil, nil, named(path, err)
	}
	films, passed = sorted(listed)
	if len(films) == 0 {
		return nil, passed, named(path, noneFound(passed, refused("read.no-listed", "no films in this DICOMDIR")))
	}
	return films, passed, nil
}

func directoryFilms(path string) (films []string, err error) {
	b, _, err := read(path)
	if err != nil {
		return nil, err
	}
	if !isDICOM(b) {
		return nil, unsupported("read.not-dicomdir", "not a DICOMDIR")
	}
	h := &header{}
	w := &walker{b: b, size: len(b), order: binary.LittleEndian}
	p, err := h.meta(w, preamble+4)
	if err != nil {
		return nil, err
	}
	w.implicit = h.syntax.implicit
	if h.syntax.big {
		w.order = binary.BigEndian
	}
	_, _, err = w.each(p, func(e head, next int) error {
		if e.tag != recordSequence {
			return nil
		}
		return w.items(e, next, func(item head, end int) (int, error) {
			c := newClean(w.order)
			p, err := c.addItem(w, item, end, w.implicit, recordElements)
			if err != nil || value(c.els[0x00041430]) != "IMAGE" {
				return p, err
			}
			film, err := listed(filepath.Dir(path), value(c.els[0x00041500]))
			films = append(films, film)
			return p, err
		})
	})
	if err == nil && len(films) == 0 {
		err = refused("read.no-listed", "no films in this DICOMDIR")
	}
	return films, err
}

// listed returns the file that a record refers to, which lies in dir or below.
func listed(dir, id string) (string, error) {
	parts := strings.Split(id, `\`)
	for i, s := range parts {
		parts[i] = strings.Trim(s, " \x00")
		if s := parts[i]; s == "" || strings.HasPrefix(s, ".") || strings.ContainsAny(s, `/:`) {
			return "", malformed("read.dicomdir-refers", "a DICOMDIR that refers to %q", "Name", printable(id))
		}
	}
	rel := filepath.Join(parts...)
	for _, name := range []string{rel, strings.ToLower(rel)} {
		if _, err := os.Stat(filepath.Join(dir, name)); err == nil {
			return filepath.Join(dir, name), nil
		}
	}
	return filepath.Join(dir, rel), nil
}
