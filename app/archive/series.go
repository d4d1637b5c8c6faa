package archive

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// The attributes that are asked for (PS3.6).
const (
	classTag       = 0x00080016
	instanceTag    = 0x00080018
	dateTag        = 0x00080020
	modalityTag    = 0x00080060
	modalitiesTag  = 0x00080061 // of a study
	conversionTag  = 0x00080064 // Conversion Type, of a secondary capture
	aboutStudyTag  = 0x00081030
	aboutSeriesTag = 0x0008103E
	patientTag     = 0x00100020
	bodyTag        = 0x00180015
	studyTag       = 0x0020000D
	seriesTag      = 0x0020000E
	numberTag      = 0x00200013
	lateralityTag  = 0x00200060
	imagesTag      = 0x00201209
)

// filmModalities are those of radiographs: computed, digital, and on film (PS3.3
// C.7.3.1.1.1).
var filmModalities = []string{"CR", "DX", "RG"}

// otherModalities are those as which scanned films are kept, too; whether a series is some
// is told by the class of its images.
var otherModalities = []string{"", "OT", "SC"}

// Series returns the series of a patient, by the code that the archive has, in the order of
// their dates. Those of modalities that are no film are among them, but not those of
// studies without any other.
func (a *Archive) Series(ctx context.Context, patient string) ([]study.Series, error) {
	if strings.TrimSpace(patient) == "" || strings.ContainsAny(patient, `*?\`) || len(patient) > 64 {
		return nil, study.NewError("archive.patient", nil)
	}
	studies, err := a.Find(ctx, "STUDY", dicomio.Values{patientTag: patient, studyTag: "", dateTag: "", aboutStudyTag: "", modalitiesTag: ""})
	if err != nil {
		return nil, err
	}
	var out []study.Series
	for _, s := range studies {
		switch {
		case s[patientTag] != "" && s[patientTag] != strings.TrimSpace(patient):
			return nil, study.NewError("archive.other-patient", nil)
		case !worthLooking(s[modalitiesTag]):
			continue
		}
		list, err := a.seriesOf(ctx, patient, s)
		if err != nil {
			return nil, err
		}
		out = append(out, list...)
	}
	slices.SortStableFunc(out, func(a, b study.Series) int { return a.Date.Compare(b.Date) })
	return out, nil
}

// worthLooking reports whether a study may have films; where the archive does not tell its
// modalities it may.
func worthLooking(modalities string) bool {
	return slices.ContainsFunc(strings.Split(modalities, `\`), func(m string) bool {
		return slices.Contains(filmModalities, m) || slices.Contains(otherModalities, m)
	})
}

// seriesOf returns the series of a study.
func (a *Archive) seriesOf(ctx context.Context, patient string, of dicomio.Values) ([]study.Series, error) {
	found, err := a.Find(ctx, "SERIES", dicomio.Values{studyTag: of[studyTag], seriesTag: "", modalityTag: "", aboutSeriesTag: "",
		bodyTag: "", lateralityTag: "", imagesTag: ""})
	if err != nil {
		return nil, err
	}
	var out []study.Series
	for _, v := range found {
		s := study.Series{Study: of[studyTag], UID: v[seriesTag], Patient: strings.TrimSpace(patient), Date: day(of[dateTag]),
			Modality: v[modalityTag], Description: v[aboutSeriesTag], BodyPart: v[bodyTag]}
		if s.Description == "" {
			s.Description = of[aboutStudyTag]
		}
		if side, err := study.ParseSide(v[lateralityTag]); err == nil {
			s.Side = side
		}
		s.Images, _ = strconv.Atoi(v[imagesTag]) // else it is not told
		s.MayBeFilms = slices.Contains(filmModalities, s.Modality)
		if slices.Contains(otherModalities, s.Modality) {
			list, err := a.instances(ctx, s)
			if err != nil {
				return nil, err
			}
			s.MayBeFilms = len(list) > 0
		}
		out = append(out, s)
	}
	return out, nil
}

// ofWorkstation is the Conversion Type of pictures that a workstation has made, as this
// program makes of its readings (PS3.3 C.8.6.1).
const ofWorkstation = "WSD"

// instances are the images of a series that are of a film's class, or of one that the
// archive does not tell, in the order of their numbers.
func (a *Archive) instances(ctx context.Context, s study.Series) ([]instance, error) {
	found, err := a.Find(ctx, "IMAGE", dicomio.Values{studyTag: s.Study, seriesTag: s.UID, instanceTag: "", classTag: "", conversionTag: "", numberTag: ""})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(found, func(a, b dicomio.Values) int { return dicomio.Natural(a[numberTag], b[numberTag]) })
	var out []instance
	for _, v := range found {
		if c := v[classTag]; v[instanceTag] != "" && v[conversionTag] != ofWorkstation && (c == "" || slices.Contains(classes, c)) {
			out = append(out, instance{s.Study, s.UID, v[instanceTag]})
		}
	}
	return out, nil
}

// day is a date of the archive, the zero time where it is none.
func day(s string) time.Time {
	t, err := time.Parse("20060102", s)
	if err != nil {
		return time.Time{}
	}
	return t
}
