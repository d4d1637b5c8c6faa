package result

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"

	"linerwatch/dicomio"
)

// Report is what one reader measured of one hip on one film.
type Report struct {
	Film    Film
	Hip     string // its code
	Side    string // "right", "left" or "" where it is not known
	Reading string // code of the reading
	Read    time.Time
	Groups  []Group
	Earlier []Instance // the reports that this one corrects
	Source
}

// Group is an outline with the numbers that belong to it, or numbers of the whole hip.
type Group struct {
	Name    string // of the thing followed over time, such as "head"
	Finding Code
	Outline *Outline // in pixels of the film's file; nil for a group without
	Numbers []Number
}

// Number is a measurement.
type Number struct {
	Of     Code
	Value  float64
	Unit   Code
	SE     float64   // standard error in that unit; 0 where it is not known
	Method Code      // zero where there is nothing to say
	Since  time.Time // date of the film from which a change counts, UTC midnight; zero where it is none
}

// UID returns the report's SOP instance UID. It is made from what the report says, not
// from when or as which of several it was written.
func (r Report) UID() string {
	r.Made, r.Number = time.Time{}, 0
	b, err := json.Marshal(r)
	if err != nil {
		return "" // a number that is not finite: Item refuses it
	}
	return dicomio.MadeUID("report", string(b))
}

// Instance names the report in its archive.
func (r Report) Instance() Instance {
	return Instance{reports.class, r.UID(), object(reports, r.Film, r.Hip, r.UID(), r.Source).Text(0x0020000E), r.Film.Study}
}

// readAt is how it is written when a film was read.
const readAt = "20060102150405-0700"

// Item returns the report as a data set. The error is of a film without identity, an
// outline that is none or a number that is not finite.
func (r Report) Item() (dicomio.Item, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	i := object(reports, r.Film, r.Hip, r.UID(), r.Source)
	i.SetItems(0x00081111) // performed procedure step
	i.SetText(0x0040A032, "DT", r.Read.In(r.Film.zone(r.Made)).Format(readAt))
	i.SetItems(0x0040A372) // performed procedure
	i.SetText(0x0040A491, "CS", "COMPLETE")
	i.SetText(0x0040A493, "CS", "UNVERIFIED")
	i.SetItems(0x0040A375, r.Film.within())
	var before []dicomio.Item
	for _, e := range r.Earlier {
		before = append(before, e.within())
	}
	if before != nil {
		i.SetItems(0x0040A360, before...)
	}
	scheme := dicomio.Item{}
	scheme.SetText(0x00080102, "SH", own)
	scheme.SetText(0x00080115, "ST", ownScheme)
	scheme.SetText(0x00080116, "ST", ownResponsible)
	i.SetItems(0x00080110, scheme)
	for tag, v := range r.root() {
		i[tag] = v
	}
	return i, nil
}

func (r Report) check() error {
	var outlines []*Outline
	for _, g := range r.Groups {
		outlines = append(outlines, g.Outline)
		for _, n := range g.Numbers {
			if !finite(n.Value) || !finite(n.SE) || n.SE < 0 {
				return fmt.Errorf("result: %s: %g with a standard error of %g is no measurement", n.Of.Meaning, n.Value, n.SE)
			}
		}
	}
	if r.Read.IsZero() || r.Made.IsZero() {
		return errors.New("result: a report without its times")
	}
	return check(r.Film, outlines)
}

// root is the content tree (TID 1500).
func (r Report) root() dicomio.Item {
	image := imageOf("CONTAINS", r.Film)
	groups := make([]dicomio.Item, 0, len(r.Groups))
	for _, g := range r.Groups {
		groups = append(groups, r.group(g))
	}
	tree := container("", reportTitle,
		coded("HAS CONCEPT MOD", language, english),
		coded("HAS OBS CONTEXT", observerType, person),
		valued("HAS OBS CONTEXT", "PNAME", personName, 0x0040A123, "PN", named(r.Reader)),
		coded("HAS OBS CONTEXT", observerType, device),
		valued("HAS OBS CONTEXT", "UIDREF", deviceUID, 0x0040A124, "UI", dicomio.MadeUID("device", r.Program+"\n"+r.Version)),
		texted("HAS OBS CONTEXT", deviceName, plain(r.Program)),
		texted("HAS OBS CONTEXT", hipCode, r.Hip),
		texted("HAS OBS CONTEXT", readingCode, r.Reading),
		coded("HAS CONCEPT MOD", procedure, imaging),
		container("CONTAINS", library, container("CONTAINS", libraryGroup, image)),
		container("CONTAINS", measurements, groups...),
	)
	return templated(tree, "1500")
}

// group is a measurement group (TID 1410 with an outline, 1501 without).
func (r Report) group(g Group) dicomio.Item {
	track := r.Hip + " " + g.Name
	nodes := []dicomio.Item{
		texted("HAS OBS CONTEXT", trackName, track),
		valued("HAS OBS CONTEXT", "UIDREF", trackUID, 0x0040A124, "UI", dicomio.MadeUID("tracking", r.Film.About.Text(0x00100020)+"\n"+track)),
		coded("CONTAINS", finding, g.Finding),
		texted("HAS CONCEPT MOD", algorithm, plain(r.Program)),
		texted("HAS CONCEPT MOD", algorithmAs, plain(r.Version)),
		coded("HAS CONCEPT MOD", site, hipJoint, sides(r.Side)...),
	}
	template := "1501"
	if g.Outline != nil {
		template = "1410"
		node := item("CONTAINS", "SCOORD", region, imageOf("SELECTED FROM", r.Film))
		shape, points := g.Outline.graphic()
		node.SetText(0x00700023, "CS", shape)
		node.SetNumbers(0x00700022, "FL", points...)
		nodes = append(nodes, node)
	}
	for _, n := range g.Numbers {
		nodes = append(nodes, n.node())
	}
	return templated(container("CONTAINS", group, nodes...), template)
}

func sides(side string) []dicomio.Item {
	switch side {
	case "right":
		return []dicomio.Item{coded("HAS CONCEPT MOD", laterality, rightSide)}
	case "left":
		return []dicomio.Item{coded("HAS CONCEPT MOD", laterality, leftSide)}
	}
	return nil
}

// node is a measurement (TID 1419, 310).
func (n Number) node() dicomio.Item {
	var more []dicomio.Item
	if n.Method != (Code{}) {
		more = append(more, coded("HAS CONCEPT MOD", method, n.Method))
	}
	if n.SE > 0 {
		more = append(more, number("HAS PROPERTIES", plusMinus, n.SE, n.Unit, coded("HAS CONCEPT MOD", derivation, standardError)))
	}
	if !n.Since.IsZero() {
		more = append(more, valued("HAS PROPERTIES", "DATE", sinceBaseline, 0x0040A121, "DA", n.Since.Format("20060102")))
	}
	return number("CONTAINS", n.Of, n.Value, n.Unit, more...)
}

// number is a numeric content item. The number as text has 16 characters at most; where
// they are too few, it stands beside it in full.
func number(relation string, of Code, v float64, unit Code, more ...dicomio.Item) dicomio.Item {
	value := dicomio.Item{}
	value.SetNumbers(0x0040A30A, "DS", v)
	if short, err := strconv.ParseFloat(value.Text(0x0040A30A), 64); err != nil || math.Float64bits(short) != math.Float64bits(v) {
		value.SetNumbers(0x0040A161, "FD", v)
	}
	value.SetItems(0x004008EA, unit.item())
	i := item(relation, "NUM", of, more...)
	i.SetItems(0x0040A300, value)
	return i
}

// item is a content item with those below it (PS3.3 C.17.3).
func item(relation, kind string, concept Code, below ...dicomio.Item) dicomio.Item {
	i := dicomio.Item{}
	if relation != "" {
		i.SetText(0x0040A010, "CS", relation)
	}
	i.SetText(0x0040A040, "CS", kind)
	if concept != (Code{}) {
		i.SetItems(0x0040A043, concept.item())
	}
	if len(below) > 0 {
		i.SetItems(0x0040A730, below...)
	}
	return i
}

func container(relation string, concept Code, below ...dicomio.Item) dicomio.Item {
	i := item(relation, "CONTAINER", concept, below...)
	i.SetText(0x0040A050, "CS", "SEPARATE")
	return i
}

// templated names the template of DCMR that a container follows.
func templated(i dicomio.Item, template string) dicomio.Item {
	t := dicomio.Item{}
	t.SetText(0x00080105, "CS", "DCMR")
	t.SetText(0x0040DB00, "CS", template)
	i.SetItems(0x0040A504, t)
	return i
}

func coded(relation string, concept, value Code, below ...dicomio.Item) dicomio.Item {
	i := item(relation, "CODE", concept, below...)
	i.SetItems(0x0040A168, value.item())
	return i
}

func valued(relation, kind string, concept Code, tag uint32, vr, value string) dicomio.Item {
	i := item(relation, kind, concept)
	i.SetText(tag, vr, value)
	return i
}

func texted(relation string, concept Code, value string) dicomio.Item {
	return valued(relation, "TEXT", concept, 0x0040A160, "UT", value)
}

func imageOf(relation string, f Film) dicomio.Item {
	i := item(relation, "IMAGE", Code{})
	i.SetItems(0x00081199, f.refer())
	return i
}
