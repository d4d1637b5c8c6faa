package report_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// What an archive has and has sent, in every format; what is not known is left empty.
func TestArchiveTables(t *testing.T) {
	series := []study.Series{
		{Study: "1.2", UID: "1.2.3", Date: time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC), Modality: "DX", Description: "Pelvis AP", BodyPart: "HIP", Images: 2, MayBeFilms: true},
		{Study: "1.2", UID: "1.2.4"},
	}
	fetched := []study.Fetched{{Instance: "1.5", Path: "a.dcm", Here: true}, {Instance: "1.6", Path: "b.dcm"}, {Instance: "1.7", Fault: "it did not come"}}
	set := []report.Archive{{Name: "ward", Kind: "DICOM", Address: "host:104", Called: "A", Calling: "B", Receive: ":11112"}}
	for name, write := range map[string]func(w *bytes.Buffer, f report.Format) error{
		"series":  func(w *bytes.Buffer, f report.Format) error { return report.Series(w, f, series) },
		"fetched": func(w *bytes.Buffer, f report.Format) error { return report.Fetched(w, f, fetched) },
		"set":     func(w *bytes.Buffer, f report.Format) error { return report.Archives(w, f, set) },
	} {
		for _, f := range []report.Format{report.Table, report.JSON, report.CSV} {
			var b bytes.Buffer
			require.NoError(t, write(&b, f))
			require.Contains(t, b.String(), map[string]map[report.Format]string{
				"series": {report.Table: "2012-03-04  DX             2  HIP        Pelvis AP    1.2.3\n-           -              -  -          -            1.2.4\n",
					report.JSON: `"images": null`, report.CSV: "1.2.4,1.2,,,,,,,0"},
				"fetched": {report.Table: "a.dcm  here already\nb.dcm  fetched\n1.7    not fetched: it did not come\n",
					report.JSON: `"film": null`, report.CSV: "1.7,,0,it did not come"},
				"set": {report.Table: "ward  DICOM  host:104  -     A       B        :11112\n", report.JSON: `"user": ""`, report.CSV: "ward,DICOM,host:104,,A,B,:11112"},
			}[name][f])
		}
	}
	for left := 0; left < 60; left += 20 {
		require.Error(t, report.Series(&failing{left}, report.Table, series))
		require.Error(t, report.Fetched(&failing{left}, report.CSV, fetched))
		require.Error(t, report.Archives(&failing{left}, report.JSON, set))
	}
}
