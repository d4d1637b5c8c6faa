package result

import (
	"errors"
	"strconv"
	"strings"
	"time"

	"linerwatch/dicomio"
)

// ErrNotReport is the error of a data set that is no report of this package.
var ErrNotReport = errors.New("result: no report of this program")

// ReadReport reads a report that Report.Item made. When it was
// made is to the second. What else is in it is passed over.
func ReadReport(i dicomio.Item) (Report, error) {
	var r Report
	image := one(one(one(i, library), libraryGroup), Code{})
	r.Hip = at(i, hipCode, 0x0040A160)
	if i.Text(0x00080016) != reports.class || r.Hip == "" || !codeIn(i, 0x0040A043).is(reportTitle) || image == nil {
		return r, ErrNotReport
	}
	r.Film = Film{Instance: instanceIn(i.Item(0x0040A375)), About: about(i)}
	if f := image.Item(0x00081199).Text(0x00081160); f != "" {
		r.Film.Frame, _ = strconv.Atoi(f)
	}
	r.Reading = at(i, readingCode, 0x0040A160)
	r.Reader = at(i, personName, 0x0040A123)
	r.Program, r.Version = at(i, deviceName, 0x0040A160), i.Text(0x00181020)
	r.Number, _ = strconv.Atoi(i.Text(0x00200013))
	var err, last error
	r.Read, err = time.Parse(readAt, i.Text(0x0040A032))
	r.Made, last = time.ParseInLocation("20060102150405", i.Text(0x00080023)+i.Text(0x00080033), r.Film.zone(r.Read))
	if err != nil || last != nil || r.Film.UID == "" {
		return r, ErrNotReport
	}
	r.Read = r.Read.UTC()
	for _, e := range i.Items(0x0040A360) {
		r.Earlier = append(r.Earlier, instanceIn(e))
	}
	for _, node := range all(one(i, measurements), group) {
		if err := r.take(node); err != nil {
			return r, err
		}
	}
	return r, nil
}

// take adds the group of a node, and the side that it says.
func (r *Report) take(node dicomio.Item) error {
	g := Group{Finding: codeIn(one(node, finding), 0x0040A168)}
	g.Name = strings.TrimPrefix(at(node, trackName, 0x0040A160), r.Hip+" ")
	switch side := codeIn(one(one(node, site), laterality), 0x0040A168); {
	case side.is(rightSide):
		r.Side = "right"
	case side.is(leftSide):
		r.Side = "left"
	}
	if s := one(node, region); s != nil {
		o, ok := outlineOf(s.Text(0x00700023), s.Numbers(0x00700022))
		if !ok {
			return ErrNotReport
		}
		g.Outline = &o
	}
	for _, below := range node.Items(0x0040A730) {
		if below.Text(0x0040A040) != "NUM" {
			continue
		}
		n, ok := numberIn(below)
		if !ok {
			return ErrNotReport
		}
		g.Numbers = append(g.Numbers, n)
	}
	r.Groups = append(r.Groups, g)
	return nil
}

// numberIn reads a numeric content item.
func numberIn(node dicomio.Item) (n Number, ok bool) {
	n.Of, n.Unit, n.Value, ok = measured(node)
	if m := one(node, method); m != nil {
		n.Method = codeIn(m, 0x0040A168)
	}
	if se := one(node, plusMinus); se != nil && ok {
		_, _, n.SE, ok = measured(se)
	}
	if s := at(node, sinceBaseline, 0x0040A121); s != "" && ok {
		var err error
		n.Since, err = time.Parse("20060102", s)
		ok = err == nil
	}
	return n, ok
}

func measured(node dicomio.Item) (of, unit Code, v float64, ok bool) {
	value := node.Item(0x0040A300)
	numbers := value.Numbers(0x0040A161)
	if numbers == nil {
		numbers = value.Numbers(0x0040A30A)
	}
	if len(numbers) != 1 {
		return of, unit, 0, false
	}
	return codeIn(node, 0x0040A043), codeIn(value, 0x004008EA), numbers[0], true
}

// all returns the content items below a node that have a concept.
func all(node dicomio.Item, concept Code) (out []dicomio.Item) {
	for _, below := range node.Items(0x0040A730) {
		if codeIn(below, 0x0040A043).is(concept) {
			out = append(out, below)
		}
	}
	return out
}

// one returns the first of all, nil where there is none.
func one(node dicomio.Item, concept Code) dicomio.Item {
	if found := all(node, concept); found != nil {
		return found[0]
	}
	return nil
}

// at returns the text of the first item that has a concept.
func at(node dicomio.Item, concept Code, tag uint32) string { return one(node, concept).Text(tag) }
