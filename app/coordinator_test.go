package main_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/cli"
	"linerwatch/app/session"
	"linerwatch/app/source"
	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// coordinator fills a study, has it read and takes it out again, by commands and by the session
// of a window, without a window. What the program would find on a film is invented, so that
// what comes of it in the end is known.
type coordinator struct {
	t     *testing.T
	file  string
	turn  sync.Mutex // films are measured side by side; guards now
	now   time.Time
	films map[uint16]measure.Hip // what is found, by the code in a film's first pixel
	off   map[string]float64     // mm that a reader moved the head up, by reader, film and occasion
	taken int                    // proposals accepted untouched
}

const mmPerPx = 0.4

// clock is a minute later each time.
func (c *coordinator) clock() time.Time {
	c.turn.Lock()
	defer c.turn.Unlock()
	c.now = c.now.Add(time.Minute)
	return c.now
}

// do runs a command, which has to end well, and returns what it wrote.
func (c *coordinator) do(args ...string) string { return c.ends(0, args...) }

// ends runs a command that ends with an exit code.
func (c *coordinator) ends(want int, args ...string) string {
	var out, complaints bytes.Buffer
	code := cli.Run(c.t.Context(), args, cli.Env{Stdout: &out, Stderr: &complaints, Version: "1.0+abc", Now: c.clock, Studies: store.Files()})
	require.Equal(c.t, want, code, "%v: %s%s", args, out.String(), complaints.String())
	return out.String()
}

// with opens the study file and closes it again.
func (c *coordinator) with(do func(st study.Store)) {
	st, err := store.Files().Open(c.t.Context(), c.file, nil)
	require.NoError(c.t, err)
	do(st)
	require.NoError(c.t, st.Close())
}

// tree writes three small films of each hip: at six weeks, and after two and five years, when
// the head has moved up by 0.03 to 0.15 mm a year.
func (c *coordinator) tree(dir string, hips []study.Hip) {
	for i, h := range hips {
		for k, days := range []int{42, 730, 1826} {
			code := uint16(1000 + 10*len(c.films))
			date := h.Surgery.AddDate(0, 0, days)
			moved := (0.03 + 0.004*float64(i)) * float64(days) / 365.25
			c.films[code] = measure.Hip{Side: h.Side, CupKind: measure.Shell,
				Head: circled(measure.Circle{X: 80, Y: 82 - moved/mmPerPx, R: h.Implant.HeadMM / 2 / mmPerPx}), Cup: circled(measure.Circle{X: 80, Y: 82, R: 62})}
			img := image.NewGray16(image.Rect(0, 0, 160, 160))
			img.SetGray16(0, 0, color.Gray16{Y: code})
			laterality := map[measure.Side]string{measure.Right: "R", measure.Left: "L"}[h.Side]
			path := filepath.Join(dir, h.Patient, fmt.Sprintf("%s%d.dcm", laterality, k))
			require.NoError(c.t, os.MkdirAll(filepath.Dir(path), 0o700))
			require.NoError(c.t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 16, Photometric: "MONOCHROME2", Modality: "DX", View: "AP",
				PatientCode: h.Patient, Laterality: laterality, Date: date, Geometry: dicomio.Geometry{Imager: [2]float64{0.46, 0.46}}}))
		}
	}
}

// circled is an outline whose edge points lie on a circle.
func circled(at measure.Circle) measure.Outline {
	o := measure.Outline{CircleFit: measure.CircleFit{Circle: at, Arc: 360, Cov: [3][3]float64{{0.01}, {0, 0.01}, {0, 0, 0.01}}}}
	for a := 0.0; a < 360; a += 10 {
		sin, cos := math.Sincos(a * math.Pi / 180)
		p := measure.Point{X: at.X + at.R*cos, Y: at.Y + at.R*sin}
		o.Points, o.Residuals = append(o.Points, p), append(o.Residuals, 0)
		o.Edges = append(o.Edges, measure.Edge{Point: p, Angle: a})
	}
	return o
}

func (c *coordinator) detect(_ context.Context, img *image.Gray16, _ find.Options) ([]measure.Hip, error) {
	h, ok := c.films[img.Gray16At(0, 0).Y]
	if !ok {
		return nil, fmt.Errorf("no film has the code %d", img.Gray16At(0, 0).Y)
	}
	return []measure.Hip{h}, nil
}

func (c *coordinator) measure(ctx context.Context, h study.Hip, f study.Film) study.Measurement {
	film, err := source.Open(f.Path, c.clock())
	require.NoError(c.t, err)
	found, err := c.detect(ctx, film.Pixels, find.Options{})
	require.NoError(c.t, err)
	return study.Measurement{Film: f, Status: study.Measured, Side: h.Side, HeadMM: h.Implant.HeadMM, Head: found[0].Head, Cup: found[0].Cup, CupKind: found[0].CupKind}
}

// read has a reader read a list: a third of the proposals as they are, and the head of the
// others moved up by an error that is drawn, with the reader's own mean.
func (c *coordinator) read(reader, list string, mean float64) {
	queue := make(chan func(), 1000)
	s := session.New(session.Config{Post: func(f func()) { queue <- f }, Studies: store.Files(), Version: "1.0+abc", Now: c.clock, Detect: c.detect})
	require.NoError(c.t, s.SetReader(reader))
	settle := func(of *session.Session) {
		for {
			if _, total := of.Work().Progress(); total == 0 && len(queue) == 0 && !s.Book().Opening() {
				return
			}
			select {
			case f := <-queue:
				f()
			case <-time.After(10 * time.Second):
				c.t.Fatal("the background sent nothing")
			}
		}
	}
	var opened error
	s.Book().Open(c.file, func(err error) { opened = err })
	settle(s)
	require.NoError(c.t, opened)
	b, err := s.Book().ReadList(list)
	require.NoError(c.t, err)
	b.Edits().SetPart(measure.Head)
	draw := rand.New(rand.NewPCG(7, uint64(len(c.off)))) // of this list alone
	for {
		settle(b)
		if _, over := b.Blind().Over(); over {
			break
		}
		p := b.Blind().List().Places[b.Blind().Place()-1]
		off := 0.0
		if draw.IntN(3) > 0 {
			off = mean + 0.15*draw.NormFloat64()
			b.Edits().Nudge(0, -off/mmPerPx)
		} else {
			c.taken++
		}
		c.off[fmt.Sprint(reader, p.FilmID, p.Occasion)] = off
		require.NoError(c.t, b.Blind().SetGrade("A", ""))
		require.NoError(c.t, b.Accept())
	}
	require.NoError(c.t, b.Close())
	require.NoError(c.t, s.Close())
}

func decimal(t *testing.T, cell string) float64 {
	v, err := strconv.ParseFloat(cell, 64)
	require.NoError(t, err)
	return v
}

// lists returns the reading lists of the study.
func (c *coordinator) lists() (out []study.List) {
	c.with(func(st study.Store) {
		var err error
		out, err = st.Lists(c.t.Context())
		require.NoError(c.t, err)
	})
	return out
}

func (c *coordinator) table(dir, name string) (out []map[string]string) {
	f, err := os.Open(filepath.Join(dir, name+".csv"))
	require.NoError(c.t, err)
	defer func() { require.NoError(c.t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(c.t, err)
	for _, row := range rows[1:] {
		line := map[string]string{}
		for i, cell := range row {
			line[rows[0][i]] = cell
		}
		out = append(out, line)
	}
	return out
}

// TestCoordinator takes a study from a workbook and a tree of films to tables for a
// statistician: 30 hips, two readers who are blind and read a fifth of the films twice, a third
// who adjudicates. With LINERWATCH_STUDY=DIR the export is kept there, for R to look at.
func TestCoordinator(t *testing.T) {
	dir := t.TempDir()
	c := &coordinator{t: t, file: filepath.Join(dir, "s"+study.FileExt), now: time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC),
		films: map[uint16]measure.Hip{}, off: map[string]float64{}}
	c.fill(filepath.Join(dir, "films"))

	c.do("study", "assign", c.file, "--reader", "R1", "--reader", "R2", "--repeat", "20%", "--gap", "10", "--seed", "5", "--start", "proposal")
	for i, l := range c.lists() {
		require.Len(t, l.Places, 108)
		c.read(l.Reader, l.ID, 0.05*float64(i))
	}
	const limit = 0.3
	c.do("study", "adjudicate", c.file, "--limit", fmt.Sprint(limit), "--reader", "R3", "--start", "proposal", "--seed", "6")
	apart := c.apart(limit)
	adjudicated := c.lists()[2]
	require.Len(t, adjudicated.Places, apart)
	require.Greater(t, apart, 5)
	c.read("R3", adjudicated.ID, 0)
	c.do("study", "rule", c.file, "--counts", "adjudicated")
	c.replayed()
	c.leaveOut()

	out := os.Getenv("LINERWATCH_STUDY")
	if out == "" {
		out = filepath.Join(dir, "tables")
	}
	c.do("study", "export", c.file, "--out", out)
	c.readings(out, apart)
	c.counted(out)
	c.agreed(out)
	c.fitted(out)
	c.do("study", "check", c.file, "--films")
}

// fill imports the workbook and the films, and measures them.
func (c *coordinator) fill(dir string) {
	ctx := c.t.Context()
	c.do("study", "new", c.file)
	tables := []string{"study", "import", c.file, "--hips", "roster/testdata/hips.xlsx", "--map", "BMI=patient:number:kg/m2", "--map", "Smoker=patient:yes-no", "--reader", "C1"}
	c.do(tables...)
	c.with(func(st study.Store) {
		hips, err := st.Hips(ctx)
		require.NoError(c.t, err)
		require.Len(c.t, hips, 30)
		c.tree(dir, hips)
	})
	c.do(append(tables, dir)...)
	c.with(func(st study.Store) {
		got, err := batch.Bulk{By: study.Stamp{Version: "1.0+abc"}, Now: c.clock, Measure: c.measure}.Run(ctx, st)
		require.NoError(c.t, err)
		require.Contains(c.t, got.Told()[0], "90 films proposed")
	})
}

// apart counts the films on which the first occasions of two readers lie farther apart than a
// limit, by the errors that they were given.
func (c *coordinator) apart(limit float64) (n int) {
	for f := range 90 {
		film := fmt.Sprintf("F%d1", f+1)
		if math.Abs(c.off["R1"+film]-c.off["R2"+film]) > limit {
			n++
		}
	}
	return n
}

// replayed measures again what was proposed and what was accepted untouched.
func (c *coordinator) replayed() {
	same, taken := 0, 0
	c.with(func(st study.Store) {
		b := batch.Bulk{By: study.Stamp{Version: "1.0+abc"}, Now: c.clock, Measure: c.measure}
		require.NoError(c.t, b.Replay(c.t.Context(), st, func(r batch.Replayed, _, _ int) error {
			require.Empty(c.t, r.Told(), "%+v", r)
			if r.Reader != "" {
				taken++
			}
			same++
			return nil
		}))
	})
	require.Equal(c.t, []int{90 + c.taken, c.taken}, []int{same, taken})
}

// leaveOut leaves the last film of a hip out for everybody, though it is read.
func (c *coordinator) leaveOut() {
	c.with(func(st study.Store) {
		hips, err := st.Hips(c.t.Context())
		require.NoError(c.t, err)
		films, err := st.Films(c.t.Context(), hips[6].ID)
		require.NoError(c.t, err)
		require.NoError(c.t, st.AddExclusion(c.t.Context(), study.Exclusion{HipID: hips[6].ID, FilmID: films[2].ID, Code: "exposure", Reader: "C1", At: c.clock()}))
	})
}

// readings holds the table of readings against what was done.
func (c *coordinator) readings(dir string, apart int) {
	counts, untouched, truth := map[string]int{}, 0, map[string]float64{}
	rows := c.table(dir, "readings")
	for _, r := range rows {
		if r["row"] == "proposal" {
			truth[r["film_id"]] = decimal(c.t, r["offset_superior_mm"])
		}
	}
	require.Len(c.t, truth, 90)
	for _, r := range rows {
		if r["row"] != "reading" {
			continue
		}
		counts[r["list_kind"]+" "+r["reader"]+" "+r["occasion"]]++
		require.Equal(c.t, []string{"proposal", "A"}, []string{r["start"], r["quality"]})
		off := c.off[r["reader"]+r["film_id"]+r["occasion"]]
		if r["untouched"] == "1" {
			untouched++
			require.Zero(c.t, off)
		}
		require.InDelta(c.t, truth[r["film_id"]]+off, decimal(c.t, r["offset_superior_mm"]), 1e-9)
	}
	require.Equal(c.t, map[string]int{"reading R1 1": 90, "reading R1 2": 18, "reading R2 1": 90, "reading R2 2": 18, "adjudication R3 1": apart}, counts)
	require.Equal(c.t, c.taken, untouched)
}

// counted holds the table of films against the rule: what was adjudicated, else the mean of the
// first occasions.
func (c *coordinator) counted(dir string) {
	offset := map[string][]float64{}
	for _, r := range c.table(dir, "readings") {
		if r["row"] == "reading" && r["occasion"] == "1" {
			offset[r["film_id"]] = append(offset[r["film_id"]], decimal(c.t, r["offset_superior_mm"]))
		}
	}
	left := 0
	for _, f := range c.table(dir, "films") {
		if f["state"] == "left-out" {
			left++
			require.Equal(c.t, []string{"NA", "NA"}, []string{f["offset_superior_mm"], f["penetration_superior_mm"]})
			continue
		}
		all := offset[f["film_id"]]
		want := all[len(all)-1]
		if f["adjudicated"] == "0" {
			require.Equal(c.t, []string{"2", "R1;R2"}, []string{f["readings_averaged"], f["reader"]})
			want = (all[0] + all[1]) / 2
		} else {
			require.Equal(c.t, []string{"1", "R3"}, []string{f["readings_averaged"], f["reader"]})
		}
		require.InDelta(c.t, want, decimal(c.t, f["offset_superior_mm"]), 1e-9)
	}
	require.Equal(c.t, 1, left)
}

// agreed holds the agreement of the export against that of the command.
func (c *coordinator) agreed(dir string) {
	text := c.do("agree", c.file, "--format", "json")
	var told []struct {
		Of, Model, Quantity string
		Value               float64
	}
	require.NoError(c.t, json.Unmarshal([]byte(text), &told))
	rows := c.table(dir, "agreement")
	require.Len(c.t, rows, len(told))
	for i, q := range told {
		require.Equal(c.t, []string{q.Model, q.Quantity}, []string{rows[i]["model"], rows[i]["quantity"]})
		require.InDelta(c.t, q.Value, decimal(c.t, rows[i]["value"]), 1e-9, q.Quantity)
	}
}

// fitted holds the rates of the hips against a fit of the table of films.
func (c *coordinator) fitted(dir string) {
	text := c.ends(1, "fit", "--hip", "hip_id", "--value", "penetration_superior_mm", "--se", "se_penetration_superior_mm",
		"--se-baseline", "se_baseline_superior_mm", "--format", "json", filepath.Join(dir, "films.csv"))
	var rates []struct {
		Hip string
		Fit *struct {
			Rate float64 `json:"rate_mm_per_year"`
		}
	}
	require.NoError(c.t, json.Unmarshal([]byte(text), &rates))
	hips := c.table(dir, "hips")
	require.Len(c.t, rates, len(hips))
	none := 0
	for i, h := range hips {
		require.Equal(c.t, h["hip_id"], rates[i].Hip)
		if h["rate_mm_per_year"] == "NA" {
			none++
			require.Nil(c.t, rates[i].Fit, "the film that is left out")
			continue
		}
		require.InDelta(c.t, decimal(c.t, h["rate_mm_per_year"]), rates[i].Fit.Rate, 1e-9)
	}
	require.Equal(c.t, 1, none)
}
