package session

import (
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// The geometry of the test films, in pixels of 0.1 mm at the hip: a head of
// 28 mm and a cup of 50 mm.
const (
	filmSize   = 600
	headRadius = 140
	cupRadius  = 250
	cupX, cupY = 300, 310
	imagerMM   = 0.115 // magnification 1.15
)

// bench is a session with its surroundings replaced: films, search and refining
// are invented, and background results wait in a queue.
type bench struct {
	*Session
	t       *testing.T
	queue   chan func()
	now     time.Time
	superPx map[string]float64 // how far the head stands above the cup's centre, by path
	refuse  map[string]string
	seen    Change
}

func newBench(t *testing.T) *bench {
	b := &bench{t: t, queue: make(chan func(), 1000), superPx: map[string]float64{}, refuse: map[string]string{}}
	var turn sync.Mutex // films are opened beside what the reader does; guards now
	b.now = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)
	b.Session = New(Config{
		Post: func(f func()) { b.queue <- f }, Studies: inMemory, Version: "test",
		Now: func() time.Time {
			turn.Lock()
			defer turn.Unlock()
			b.now = b.now.Add(10 * time.Second)
			return b.now
		},
		Open: b.open, Detect: b.detect, Refine: b.refine,
	})
	b.OnChange = func(c Change) { b.seen |= c }
	t.Cleanup(func() {
		_ = b.Close() // of a study that a test has broken
		requireNoneLeft(t)
	})
	return b
}

// drain runs what the background sends until it is done.
func (b *bench) drain() {
	b.t.Helper()
	for {
		if _, total := b.Work().Progress(); total == 0 && len(b.queue) == 0 && !b.book.Opening() {
			return
		}
		b.one()
	}
}

// one waits for one result of the background.
func (b *bench) one() {
	b.t.Helper()
	select {
	case f := <-b.queue:
		f()
	case <-time.After(10 * time.Second):
		b.t.Fatal("the background sent nothing")
	}
}

// open invents a film whose file name is its date. The first pixel carries the
// path's identity to detect.
func (b *bench) open(path string) (*dicomio.Film, error) {
	name := filepath.Base(path)
	date, err := time.Parse("2006-01-02.dcm", name)
	if err != nil {
		return nil, &dicomio.FileError{Path: path, Err: errors.New("malformed: no film")}
	}
	img := image.NewGray16(image.Rect(0, 0, filmSize, filmSize))
	day := uint16(date.Unix() / 86400)
	img.Pix[0], img.Pix[1] = byte(day>>8), byte(day)
	return &dicomio.Film{
		Path: path, SHA256: "sha-" + name, Format: "DICOM", Pixels: img, Bits: 16, PatientCode: "T1",
		Date: date, Laterality: "R", Geometry: dicomio.Geometry{Imager: [2]float64{imagerMM, imagerMM}},
	}, nil
}

func nameOf(img *image.Gray16) string {
	day := int64(img.Pix[0])<<8 | int64(img.Pix[1])
	return time.Unix(day*86400, 0).UTC().Format("2006-01-02.dcm")
}

func (b *bench) truth(img *image.Gray16) (head, cup measure.Circle) {
	return measure.Circle{X: cupX, Y: cupY - b.superPx[nameOf(img)], R: headRadius},
		measure.Circle{X: cupX, Y: cupY, R: cupRadius}
}

func (b *bench) detect(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
	if why := b.refuse[nameOf(img)]; why != "" {
		return nil, &measure.Refusal{Reason: measure.Note{Text: why}}
	}
	head, cup := b.truth(img)
	return []measure.Hip{{Side: measure.Right, Head: outline(head), Cup: outline(cup), CupKind: measure.Shell}}, ctx.Err()
}

func (b *bench) refine(img *image.Gray16, start measure.Circle, part measure.Part) (measure.Outline, error) {
	head, cup := b.truth(img)
	want := head
	if part == measure.Cup {
		want = cup
	}
	if math.Hypot(start.X-want.X, start.Y-want.Y) > 40 {
		return measure.Outline{}, find.ErrNoOutline
	}
	return outline(want), nil
}

// outline returns a circle as if fitted to 36 points that lie on it exactly, with
// standard errors of 0.1 px.
func outline(c measure.Circle) measure.Outline {
	o := measure.Outline{CircleFit: measure.CircleFit{Circle: c, Arc: 360, Cov: [3][3]float64{{0.01}, {0, 0.01}, {0, 0, 0.01}}}}
	for a := 0.0; a < 360; a += 10 {
		sin, cos := math.Sincos(a * math.Pi / 180)
		p := measure.Point{X: c.X + c.R*cos, Y: c.Y + c.R*sin}
		o.Points = append(o.Points, p)
		o.Residuals = append(o.Residuals, 0)
		o.Edges = append(o.Edges, measure.Edge{Point: p, Angle: a})
	}
	return o
}

// hip is the test hip: right, surgery at the start of 2004.
func hip() study.Hip {
	return study.Hip{
		ID: "T1-right", Patient: "T1", Side: measure.Right, Surgery: time.Date(2004, 1, 1, 0, 0, 0, 0, time.UTC),
		Implant: study.Implant{HeadMM: 28, LinerMM: 8, PE: "XLPE"}, StartYears: 1,
	}
}

// dates are those of the five test films; the head moves 1 px, 0.1 mm, a year.
var dates = []string{"2004-03-01", "2005-01-01", "2007-01-01", "2009-01-01", "2014-01-01"}

// opened returns a bench with the five films read and proposed.
func opened(t *testing.T) *bench {
	b := newBench(t)
	dir := t.TempDir()
	var paths []string
	for i := range dates {
		name := dates[(i*2)%5] + ".dcm" // not in order
		date, err := time.Parse("2006-01-02.dcm", name)
		require.NoError(t, err)
		b.superPx[name] = 2 + hip().Years(date)
		paths = append(paths, touch(t, dir, name))
	}
	b.Viewer().SetViewport(800, 600, 1)
	b.strip.Add(paths)
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	return b
}

// whereItIs opens films that are invented, of files that are there.
func whereItIs(b *bench) func(path string) (*dicomio.Film, error) {
	return func(path string) (*dicomio.Film, error) {
		if _, err := os.Stat(path); err != nil {
			return nil, fmt.Errorf("%s: %w", filepath.Base(path), err)
		}
		return b.open(path)
	}
}
