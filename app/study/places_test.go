package study_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

func TestPlaces(t *testing.T) {
	on := func(year int) time.Time { return time.Date(year, 6, 1, 0, 0, 0, 0, time.UTC) }
	hip := func(id, site, patient string, side measure.Side, year int) study.Hip {
		return study.Hip{ID: id, Site: site, Patient: patient, Side: side, Surgery: on(year)}
	}
	hips := []study.Hip{
		hip("1", "S", "A", measure.Right, 2001), hip("2", "S", "B", measure.Right, 2001), hip("3", "S", "B", measure.Left, 2005),
		hip("4", "S", "C", measure.Right, 2001), hip("5", "T", "C", measure.Right, 2001),
		hip("6", "S", "D", measure.Right, 2001), hip("7", "S", "D", measure.Right, 2002), hip("8", "S", "", measure.Right, 2001),
	}
	for name, c := range map[string]struct {
		patient string
		side    measure.Side
		year    int // 0 for a film without a date
		both    bool
		site    string
		want    string // hips, or the code of why there are none
	}{
		"patient and side":                  {"A", measure.Right, 2003, false, "", "1"},
		"no side, one hip":                  {"A", study.SideUnknown, 2003, false, "", "1"},
		"no date":                           {"A", measure.Right, 0, false, "", "1"},
		"the other side":                    {"A", measure.Left, 2003, false, "", "place.side"},
		"before surgery":                    {"A", measure.Right, 2000, false, "", "film.early"},
		"in the future":                     {"A", measure.Right, 2031, false, "", "place.future"},
		"nobody's":                          {"", measure.Right, 2003, false, "", "place.no-patient"},
		"a stranger's":                      {"Z", measure.Right, 2003, false, "", "place.unknown"},
		"no side, both hips":                {"B", study.SideUnknown, 2006, false, "", "place.sides"},
		"no side, both asked for":           {"B", study.SideUnknown, 2006, true, "", "23"},
		"no side, the other not yet":        {"B", study.SideUnknown, 2003, false, "", "2"},
		"one code at two sites":             {"C", measure.Right, 2003, false, "", "place.sites"},
		"one code at two sites, one named":  {"C", measure.Right, 2003, false, "T", "5"},
		"a hip that is there twice":         {"D", measure.Right, 2003, true, "", "place.several"},
		"of another site":                   {"A", measure.Right, 2003, false, "T", "place.unknown"},
		"on the day of surgery":             {"B", measure.Left, 2005, false, "", "3"},
		"before the second hip was its own": {"B", measure.Left, 2004, false, "", "film.early"},
	} {
		f := study.Film{Facts: study.Facts{Patient: c.patient, Side: c.side}}
		if c.year > 0 {
			f.Facts.Date = on(c.year)
		}
		p := study.NewPlaces(hips, c.site, on(2030))
		p.Both = c.both
		list, why := p.Of(f)
		got := why.Code
		for _, h := range list {
			got += h.ID
		}
		require.Equal(t, c.want, got, name)
	}
}
