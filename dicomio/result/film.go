package result

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"strconv"
	"strings"
	"time"

	"linerwatch/dicomio"
)

// Instance names an object of an archive.
type Instance struct{ Class, UID, Series, Study string }

// Film is the film that a result is of, as its file says.
type Film struct {
	Instance
	Frame int          // counted from 1; 0 of a file that has one
	About dicomio.Item // its patient and study, which every result of it has as well
}

// ErrNoIdentity is the error of a file that does not say which object it is.
var ErrNoIdentity = errors.New("result: the film's file does not name the object that it is")

// ofStudy are the elements of the general study module that a result has in common with
// its film, beside those of the groups 0010 and 0012 (PS3.3 C.7.1, C.7.2).
var ofStudy = []uint32{
	0x00080020, 0x00080030, 0x00080050, 0x00080051, 0x00080090, 0x00080096, 0x00080201, 0x00081030, 0x00081032,
	0x00081048, 0x00081049, 0x0020000D, 0x00200010,
}

// needed are the elements of patient and study that have to be there, with or without a
// value.
var needed = map[uint32]string{
	0x00080020: "DA", 0x00080030: "TM", 0x00080050: "SH", 0x00080090: "PN",
	0x00100010: "PN", 0x00100020: "LO", 0x00100030: "DA", 0x00100040: "CS", 0x00200010: "SH",
}

// FilmOf returns the film of which file is the data set. frame counts from 1. The error
// is ErrNoIdentity.
func FilmOf(file dicomio.Item, frame int) (Film, error) {
	f := Film{Instance: InstanceOf(file), About: about(file)}
	if f.Class == "" || f.UID == "" || f.Series == "" || f.Study == "" {
		return f, ErrNoIdentity
	}
	if n := file.Text(0x00280008); n != "" && n != "1" {
		f.Frame = frame
	}
	return f, nil
}

// InstanceOf returns which object a data set is.
func InstanceOf(i dicomio.Item) Instance {
	return Instance{i.Text(0x00080016), i.Text(0x00080018), i.Text(0x0020000E), i.Text(0x0020000D)}
}

// about returns what a data set says of patient and study.
func about(file dicomio.Item) dicomio.Item {
	out := dicomio.Item{}
	for tag, vr := range needed {
		out.SetText(tag, vr)
	}
	for tag, v := range file {
		if tag>>16 == 0x0010 || tag>>16 == 0x0012 {
			out[tag] = v
		}
	}
	for _, tag := range ofStudy {
		if v, ok := file[tag]; ok {
			out[tag] = v
		}
	}
	return out
}

// zone is the time zone in which the film's file tells times; without one, that of t.
func (f Film) zone(t time.Time) *time.Location {
	if at, err := time.Parse("-0700", f.About.Text(0x00080201)); err == nil {
		return at.Location()
	}
	return t.Location()
}

// refer is the film as an item of a sequence of references.
func (f Film) refer() dicomio.Item {
	i := f.Instance.refer()
	if f.Frame > 0 {
		i.SetText(0x00081160, "IS", strconv.Itoa(f.Frame))
	}
	return i
}

func (n Instance) refer() dicomio.Item {
	i := dicomio.Item{}
	i.SetText(0x00081150, "UI", n.Class)
	i.SetText(0x00081155, "UI", n.UID)
	return i
}

// within is an instance below its series and study (PS3.3 C.17.2.1).
func (n Instance) within() dicomio.Item {
	series := dicomio.Item{}
	series.SetText(0x0020000E, "UI", n.Series)
	series.SetItems(0x00081199, n.refer())
	study := dicomio.Item{}
	study.SetText(0x0020000D, "UI", n.Study)
	study.SetItems(0x00081115, series)
	return study
}

// instanceIn is within the other way round.
func instanceIn(study dicomio.Item) Instance {
	series := study.Item(0x00081115)
	one := series.Item(0x00081199)
	return Instance{one.Text(0x00081150), one.Text(0x00081155), series.Text(0x0020000E), study.Text(0x0020000D)}
}

// Source says who made a result, with what, and when.
type Source struct {
	Program, Version string    // of the software
	Reader           string    // who read
	Made             time.Time // the result
	Number           int       // of the result in its series, from 1
}

// kind is what tells a kind of result from others.
type kind struct {
	class, modality string
	series          int    // number of its series
	day, hour       uint32 // elements that say when it was made
}

var (
	reports  = kind{"1.2.840.10008.5.1.4.1.1.88.33", "SR", 9001, 0x00080023, 0x00080033}
	captures = kind{"1.2.840.10008.5.1.4.1.1.7", "OT", 9002, 0x00080023, 0x00080033}
	states   = kind{"1.2.840.10008.5.1.4.1.1.11.1", "PR", 9003, 0x00700082, 0x00700083}

	selections = kind{"1.2.840.10008.5.1.4.1.1.88.59", "KO", 9004, 0x00080023, 0x00080033}
)

// object is what every result begins with: patient, study, series, equipment and SOP
// common modules. uid is the one of the instance. Results of one kind, hip and version
// of the program are one series of the film's study.
func object(k kind, f Film, hip, uid string, by Source) dicomio.Item {
	i := maps.Clone(f.About)
	made := by.Made.In(f.zone(by.Made))
	i.SetText(0x00080005, "CS", "ISO_IR 192")
	i.SetText(0x00080016, "UI", k.class)
	i.SetText(0x00080018, "UI", uid)
	i.SetText(k.day, "DA", made.Format("20060102"))
	i.SetText(k.hour, "TM", made.Format("150405"))
	i.SetText(0x00080060, "CS", k.modality)
	i.SetText(0x00080070, "LO", plain(by.Program))
	i.SetText(0x00081090, "LO", plain(by.Program))
	i.SetText(0x00181020, "LO", plain(by.Version))
	i.SetText(0x0020000D, "UI", f.Study)
	i.SetText(0x0020000E, "UI", dicomio.MadeUID("results", strings.Join([]string{f.Study, k.modality, hip, by.Program, by.Version}, "\n")))
	i.SetText(0x00200011, "IS", strconv.Itoa(k.series))
	i.SetText(0x00200013, "IS", strconv.Itoa(max(by.Number, 1)))
	return i
}

// sided says which side a result is of: "right", "left" or "".
func sided(i dicomio.Item, side string) {
	letter := ""
	switch side {
	case "right":
		letter = "R"
	case "left":
		letter = "L"
	}
	i.SetText(0x00200060, "CS", letter)
}

// plain is a text as one value of at most 64 characters can hold it: what would end
// the value or the line becomes a space.
func plain(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == '\\' {
			return ' '
		}
		return r
	}, s)
	if letters := []rune(s); len(letters) > 64 {
		s = string(letters[:64])
	}
	return strings.TrimSpace(s)
}

// named is a text as one component of a person's name.
func named(s string) string { return plain(strings.NewReplacer("^", " ", "=", " ").Replace(s)) }

// check refuses what would make an object that says something else than was meant.
func check(f Film, outlines []*Outline) error {
	if f.UID == "" || f.Study == "" || f.Series == "" || f.Class == "" {
		return ErrNoIdentity
	}
	for _, o := range outlines {
		if o != nil && !o.valid() {
			return fmt.Errorf("result: an outline about (%g, %g) with half-axes %g and %g is none", o.X, o.Y, o.A, o.B)
		}
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
