package result

import (
	"strings"

	"linerwatch/dicomio"
)

// Rejection tells an archive that results no longer hold: a Key Object Selection Document
// (PS3.3 A.35.4, TID 2010 of PS3.16) with the title "Rejected for Quality Reasons", which
// names them. A report that follows another corrects it; where nothing is to follow, there
// is no report to be made, and a selection names picture and state as well.
type Rejection struct {
	Film   Film // that the results are of, whose study they are in
	Hip    string
	Why    string     // in plain words
	Of     []Instance // the results
	Source            // Reader is who took the reading back
}

// Item returns the selection as a data set. The error is of a film without identity.
func (r Rejection) Item() (dicomio.Item, error) {
	if err := check(r.Film, nil); err != nil {
		return nil, err
	}
	uids := make([]string, len(r.Of))
	for k, o := range r.Of {
		uids[k] = o.UID
	}
	i := object(selections, r.Film, r.Hip, dicomio.MadeUID("rejection", strings.Join(append(uids, r.Reader, r.Why), "\n")), r.Source)
	i.SetItems(0x00081111) // performed procedure step
	i.SetItems(0x0040A375, r.evidence()...)
	below := []dicomio.Item{
		coded("HAS CONCEPT MOD", language, english),
		coded("HAS OBS CONTEXT", observerType, person),
		valued("HAS OBS CONTEXT", "PNAME", personName, 0x0040A123, "PN", named(r.Reader)),
		texted("CONTAINS", selectionText, r.Why),
	}
	for _, o := range r.Of {
		kind := "COMPOSITE"
		if o.Class == captures.class {
			kind = "IMAGE"
		}
		node := item("CONTAINS", kind, Code{})
		node.SetItems(0x00081199, o.refer())
		below = append(below, node)
	}
	for tag, v := range templated(container("", rejected, below...), "2010") {
		i[tag] = v
	}
	return i, nil
}

// evidence names the results below their series, each series once (PS3.3 C.17.2.1).
func (r Rejection) evidence() (studies []dicomio.Item) {
	var series []dicomio.Item
	at := map[string]int{}
	for _, o := range r.Of {
		k, ok := at[o.Series]
		if !ok {
			k = len(series)
			at[o.Series] = k
			one := dicomio.Item{}
			one.SetText(0x0020000E, "UI", o.Series)
			series = append(series, one)
		}
		series[k].SetItems(0x00081199, append(series[k].Items(0x00081199), o.refer())...)
	}
	study := dicomio.Item{}
	study.SetText(0x0020000D, "UI", r.Film.Study)
	study.SetItems(0x00081115, series...)
	return []dicomio.Item{study}
}
