package report

import (
	"io"
	"strconv"

	"linerwatch/app/study"
)

// Archive is what is set of an image archive, without its password.
type Archive struct {
	Name    string `json:"name"`
	Kind    string `json:"kind"` // "DICOMweb" or "DICOM"
	Address string `json:"address"`
	User    string `json:"user"`
	Called  string `json:"called"`
	Calling string `json:"calling"`
	Receive string `json:"receive"` // where films are sent to; "" where they come on the connection that asks
}

// Archives writes what is set of archives, one object or row each.
func Archives(w io.Writer, format Format, list []Archive) error {
	row := func(a Archive) []string {
		return []string{a.Name, a.Kind, a.Address, a.User, a.Called, a.Calling, a.Receive}
	}
	switch format {
	case JSON:
		return writeJSON(w, append([]Archive{}, list...))
	case CSV:
		rows := [][]string{{"name", "kind", "address", "user", "called", "calling", "receive"}}
		for _, a := range list {
			rows = append(rows, row(a))
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<name", "<kind", "<address", "<user", "<called", "<calling", "<receive")
	for _, a := range list {
		g.add(a.Name, a.Kind, a.Address, dash(a.User), dash(a.Called), dash(a.Calling), dash(a.Receive))
	}
	return g.write(w)
}

type seriesJSON struct {
	Series      string  `json:"series"`
	Study       string  `json:"study"`
	Date        *string `json:"date"`
	Modality    string  `json:"modality"`
	Description string  `json:"description"`
	BodyPart    string  `json:"body_part"`
	Side        string  `json:"side"`
	Images      *int    `json:"images"`
	MayBeFilms  bool    `json:"may_be_films"`
}

// Series writes series of an archive, one object or row each.
func Series(w io.Writer, format Format, list []study.Series) error {
	images := func(s study.Series) string {
		if s.Images == 0 {
			return ""
		}
		return strconv.Itoa(s.Images)
	}
	switch format {
	case JSON:
		out := []seriesJSON{}
		for _, s := range list {
			j := seriesJSON{s.UID, s.Study, text(day(s.Date)), s.Modality, s.Description, s.BodyPart, s.Side.String(), nil, s.MayBeFilms}
			if s.Images > 0 {
				j.Images = &s.Images
			}
			out = append(out, j)
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"series", "study", "date", "modality", "description", "body_part", "side", "images", "may_be_films"}}
		for _, s := range list {
			rows = append(rows, []string{s.UID, s.Study, day(s.Date), s.Modality, s.Description, s.BodyPart, s.Side.String(), images(s), yes(s.MayBeFilms)})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<date", "<modality", "images", "<body part", "<description", "<series")
	for _, s := range list {
		g.add(dash(day(s.Date)), dash(s.Modality), dash(images(s)), dash(s.BodyPart), dash(s.Description), s.UID)
	}
	return g.write(w)
}

type fetchedJSON struct {
	Instance string  `json:"instance"`
	Film     *string `json:"film"`
	Here     bool    `json:"here_before"`
	Fault    string  `json:"fault"`
}

// Fetched writes what became of films that were asked of an archive, one object or row each.
func Fetched(w io.Writer, format Format, films []study.Fetched) error {
	switch format {
	case JSON:
		out := []fetchedJSON{}
		for _, f := range films {
			out = append(out, fetchedJSON{f.Instance, text(f.Path), f.Here, f.Fault})
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"instance", "film", "here_before", "fault"}}
		for _, f := range films {
			rows = append(rows, []string{f.Instance, f.Path, yes(f.Here), f.Fault})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<film", "<note")
	for _, f := range films {
		switch {
		case f.Fault != "":
			g.add(f.Instance, "not fetched: "+f.Fault)
		case f.Here:
			g.add(f.Path, "here already")
		default:
			g.add(f.Path, "fetched")
		}
	}
	return g.write(w)
}
