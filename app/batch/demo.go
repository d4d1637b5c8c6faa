package batch

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"time"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// DemoHip is one invented hip of the demo study: what it wears by construction,
// what was measured on its films, and what these films truly show.
type DemoHip struct {
	Hip       study.Hip
	Liner     string  // in words
	Rate      float64 // built in: superior component, mm/year
	BeddingIn float64 // built in: the line at surgery, counted from the baseline film, mm
	Shown     float64 // true superior penetration on the last film measured, mm

	Measured  []study.Measurement // film by film, from the files
	Trend     study.Trend
	TrendFail error // why there is no trend
}

// RateInside reports whether the stated interval of the rate holds the rate
// that was built in.
func (d DemoHip) RateInside() bool {
	f := d.Trend.Fit
	return f != nil && f.HasInterval && f.Lo95 <= d.Rate && d.Rate <= f.Hi95
}

// demoHip is how a hip of the demo study is built.
type demoHip struct {
	patient  string
	liner    string
	surgery  time.Time
	implant  study.Implant
	hip      phantom.Hip
	rate     float64   // mm/year
	settling float64   // bedding-in when complete, mm
	lean     float64   // medial movement for each mm superior
	years    []float64 // of the films
}

// settlingTime is the time constant of the bedding-in, years: it is complete
// well before one year.
const settlingTime = 0.15

// moved returns the superior penetration since surgery.
func (d demoHip) moved(years float64) float64 {
	return d.settling*(1-math.Exp(-years/settlingTime)) + d.rate*years
}

// The demo study's places and persons do not exist.
func demoHips() []demoHip {
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	with := func(side measure.Side, edit func(*phantom.Hip)) phantom.Hip {
		h := phantom.DefaultHip(side)
		edit(&h)
		return h
	}
	return []demoHip{
		{
			patient: "Q7-031", liner: "conventional PE", surgery: day(2004, 5, 3),
			implant: study.Implant{HeadMM: 28, LinerMM: 9, PE: "conventional"},
			hip:     with(measure.Right, func(h *phantom.Hip) { h.Inclination = 44 }),
			rate:    0.20, settling: 0.22, lean: 0.15, years: []float64{0.12, 1.1, 2.0, 4.1, 6.9, 10.0},
		},
		{
			patient: "Q7-058", liner: "XLPE", surgery: day(2006, 9, 18),
			implant: study.Implant{HeadMM: 32, LinerMM: 7, PE: "XLPE"},
			hip:     with(measure.Left, func(h *phantom.Hip) { h.HeadMM, h.Screws = 32, 1 }),
			rate:    0.04, settling: 0.12, lean: 0.1, years: []float64{0.14, 1.0, 2.1, 5.0, 8.2, 12.1},
		},
		{
			patient: "Q7-102", liner: "XLPE, ceramic head", surgery: day(2009, 2, 9),
			implant: study.Implant{HeadMM: 36, LinerMM: 6, PE: "XLPE"},
			hip: with(measure.Right, func(h *phantom.Hip) {
				h.HeadMM, h.ShellMM, h.HeadMaterial = 36, 56, phantom.Alumina
			}),
			rate: 0.03, settling: 0.10, lean: -0.1, years: []float64{0.11, 1.2, 3.0, 5.2, 9.9},
		},
		{
			patient: "Q7-117", liner: "cemented PE, wire ring", surgery: day(1998, 11, 23),
			implant: study.Implant{HeadMM: 28, LinerMM: 11, PE: "conventional"},
			hip: with(measure.Left, func(h *phantom.Hip) {
				h.Cup, h.ShellMM, h.Anteversion, h.StemMaterial = measure.Wire, 50, 20, phantom.Steel
			}),
			rate: 0.10, settling: 0.18, lean: 0.2, years: []float64{0.13, 1.1, 3.2, 6.0, 9.1},
		},
	}
}

// demoWindow is the side of a demo film around the hip, mm on the detector.
const demoWindow = 190

// scene returns film i of hip k. The patient stands a little differently each
// time.
func (d demoHip) scene(k, i int) phantom.Scene {
	s := phantom.Default()
	h := d.hip
	h.Superior = d.moved(d.years[i])
	h.Medial = d.lean * h.Superior
	s.Hips = []phantom.Hip{h}
	s.Patient, s.Seed = uint64(k+1), uint64(100*(k+1)+i)
	vary := func(j int, span float64) float64 { // steps through the span without repeating
		_, f := math.Modf(0.618034 * float64(7*k+3*i+j+1))
		return span * (2*f - 1)
	}
	s.ShiftX, s.ShiftY = vary(0, 6), vary(1, 6)
	s.Tilt, s.Rotation = vary(2, 1), vary(3, 1)
	return s.Around(h.Side, demoWindow)
}

// date returns the day of film i.
func (d demoHip) date(i int) time.Time {
	return d.surgery.AddDate(0, 0, int(math.Round(365.25*d.years[i])))
}

// Demo renders the demo study as DICOM files in dir and measures them from
// these files with nobody looking. progress may be nil.
func Demo(ctx context.Context, dir string, progress func(done, total int)) ([]DemoHip, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	plan := demoHips()
	out := make([]DemoHip, len(plan))
	type film struct{ hip, index int }
	var jobs []film
	for k, d := range plan {
		out[k] = d.start()
		for i := range d.years {
			jobs = append(jobs, film{k, i})
		}
	}
	errs := make([]error, len(jobs))
	err = parallel(ctx, len(jobs), progress, func(n int) {
		k, i := jobs[n].hip, jobs[n].index
		path := filepath.Join(dir, fmt.Sprintf("%s-%s.dcm", out[k].Hip.ID, plan[k].date(i).Format("20060102")))
		if errs[n] = plan[k].write(path, k, i); errs[n] == nil {
			opt := MeasureOptions{HeadMM: plan[k].implant.HeadMM, Side: plan[k].hip.Side,
				Given: []Given{{Film: path, Center: plan[k].centralRay(k, i)}}}
			out[k].Measured[i] = measureFile(ctx, path, opt)[0]
		}
	})
	if err := errors.Join(append(errs, err)...); err != nil {
		return nil, err
	}
	for k := range out {
		d := &out[k]
		d.Trend, d.TrendFail = study.NewTrend(d.Hip, d.Measured)
		if d.TrendFail == nil {
			if err := plan[k].truth(k, d); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

func (d demoHip) start() DemoHip {
	d.implant.HeadMaterial = cmp.Or(string(d.hip.HeadMaterial), string(phantom.CoCr))
	d.implant.ShellMM, d.implant.Fixation = d.hip.ShellMM, "uncemented"
	if d.hip.Cup == measure.Wire {
		d.implant.Fixation = "cemented"
	}
	return DemoHip{
		Hip: study.Hip{
			ID: d.patient + "-" + d.hip.Side.String(), Patient: d.patient, Side: d.hip.Side,
			Surgery: d.surgery, Implant: d.implant, StartYears: study.DefaultStartYears,
		},
		Liner: d.liner, Rate: d.rate, Measured: make([]study.Measurement, len(d.years)),
	}
}

// write renders film i into a file.
func (d demoHip) write(path string, k, i int) error {
	s := d.scene(k, i)
	img, err := phantom.Render(s)
	if err != nil {
		return err
	}
	laterality := "R"
	if d.hip.Side == measure.Left {
		laterality = "L"
	}
	return dicomio.WriteFile(path, &dicomio.Film{
		Pixels: img, Bits: s.Bits, Photometric: "MONOCHROME2", Modality: "DX", View: "AP",
		PatientCode: d.patient, Date: d.date(i), Laterality: laterality, Orientation: [2]string{"L", "F"},
		Geometry: dicomio.Geometry{
			Imager:      [2]float64{s.Spacing, s.Spacing},
			SourceImage: s.SourceImage, SourcePatient: s.SourceHip,
		},
	})
}

// centralRay returns where the central ray met film i, px: the films are cut out of
// larger ones, in whose middle it lies.
func (d demoHip) centralRay(k, i int) *measure.Point {
	s := d.scene(k, i)
	return &measure.Point{
		X: float64(s.Width)/2 + s.BeamX/s.Spacing - float64(s.Window.Min.X),
		Y: float64(s.Height)/2 + s.BeamY/s.Spacing - float64(s.Window.Min.Y),
	}
}

// truth fills in what the trend of out should have found: the line that was
// built in, and what an ideal observer sees on the last film.
func (d demoHip) truth(k int, out *DemoHip) error {
	t := out.Trend
	out.BeddingIn = d.settling - d.moved(out.Hip.Years(t.Baseline.Date()))
	base, err := d.offset(k, t.Baseline.Date())
	if err != nil {
		return err
	}
	last, err := d.offset(k, t.Penetration[len(t.Penetration)-1].Film.Date())
	out.Shown = last - base
	return err
}

// offset returns the true superior offset on the film of a day.
func (d demoHip) offset(k int, day time.Time) (float64, error) {
	for i := range d.years {
		if d.date(i).Equal(day) {
			t, err := phantom.Truths(d.scene(k, i))
			if err != nil {
				return 0, err
			}
			return t[0].Offset.Superior, nil
		}
	}
	return 0, study.NewError("demo.no-film", study.Values{"Date": day.Format(time.DateOnly)})
}

// SaveDemo puts the hips and their films into a study file, as by. What an earlier demo
// study holds of them stays as it is. No reading is accepted: that is a reader's part.
func SaveDemo(ctx context.Context, st study.Store, hips []DemoHip, by study.Stamp) error {
	there, err := st.Hips(ctx)
	if err != nil {
		return err
	}
	for _, d := range hips {
		i := slices.IndexFunc(there, func(h study.Hip) bool { return h.Label() == d.Hip.Label() })
		var h study.Hip
		if i >= 0 {
			h = there[i]
		} else {
			d.Hip.ID = "" // the study gives its own
			if h, err = st.SaveHip(ctx, d.Hip, by); err != nil {
				return err
			}
		}
		for _, m := range d.Measured {
			if m.Status == study.Failed {
				continue
			}
			if err := saveDemoFilm(ctx, st, h, m.Film, by); err != nil {
				return err
			}
		}
	}
	return nil
}

func saveDemoFilm(ctx context.Context, st study.Store, h study.Hip, f study.Film, by study.Stamp) error {
	was, ok, err := st.FilmByPixels(ctx, f.Facts)
	switch {
	case err != nil:
		return err
	case ok:
		f = was
	default:
		f.ID = "" // as of the hip
		if f, err = st.SaveFilm(ctx, f, by); err != nil {
			return err
		}
	}
	return st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by)
}
