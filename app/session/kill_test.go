package session_test

import (
	"bufio"
	"context"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// killedStudy tells the test binary, run again as a child, which study to work in.
const killedStudy = "LINERWATCH_TEST_KILLED_STUDY"

// worker is a session over real study files and an invented film.
func worker() (*session.Session, chan func()) {
	queue := make(chan func(), 100)
	circle := func(y, r float64) measure.Outline {
		o := measure.Outline{CircleFit: measure.CircleFit{Circle: measure.Circle{X: 300, Y: y, R: r}, Arc: 360}}
		o.Points = []measure.Point{{X: 300 + r, Y: y}, {X: 300, Y: y + r}, {X: 300 - r, Y: y}, {X: 300, Y: y - r}}
		o.Residuals = make([]float64, 4)
		for i := range o.Cov {
			o.Cov[i][i] = 0.01
		}
		return o
	}
	return session.New(session.Config{
		Post:    func(f func()) { queue <- f },
		Studies: store.Files(),
		Open: func(path string) (*dicomio.Film, error) {
			return &dicomio.Film{Path: path, SHA256: "sha", Pixels: image.NewGray16(image.Rect(0, 0, 600, 600)), Bits: 16,
				PatientCode: "T1", Date: time.Date(2005, 1, 1, 0, 0, 0, 0, time.UTC), Laterality: "R"}, nil
		},
		Detect: func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error) {
			return []measure.Hip{{Side: measure.Right, Head: circle(300, 140), Cup: circle(302, 250), CupKind: measure.Shell}}, nil
		},
	}), queue
}

func drain(t *testing.T, s *session.Session, queue chan func()) {
	t.Helper()
	for {
		if _, total := s.Work().Progress(); total == 0 && len(queue) == 0 && !s.Book().Opening() {
			return
		}
		(<-queue)()
	}
}

// TestKilledWorker is the child of TestKilledProgramLosesNoDraft: it opens a film,
// moves the head, says so, and goes on showing it until it is killed.
func TestKilledWorker(t *testing.T) {
	path := os.Getenv(killedStudy)
	if path == "" {
		t.Skip("runs as a child of TestKilledProgramLosesNoDraft only")
	}
	s, queue := worker()
	film := filepath.Join(filepath.Dir(path), "film.dcm")
	require.NoError(t, os.WriteFile(film, nil, 0o600))
	s.Strip().Add([]string{film})
	drain(t, s, queue)
	require.NoError(t, s.SetHip(study.Hip{ID: "T1-right", Patient: "T1", Side: measure.Right,
		Surgery: time.Date(2004, 1, 1, 0, 0, 0, 0, time.UTC), Implant: study.Implant{HeadMM: 28}}))
	drain(t, s, queue)
	s.Book().Create(path, func(err error) { require.NoError(t, err) })
	drain(t, s, queue)
	s.Edits().Nudge(0, -7.25)
	fmt.Println("shown")
	for f := range queue {
		f()
	}
}

// A program killed one second after a change lost nothing of what it showed.
func TestKilledProgramLosesNoDraft(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	cmd := exec.Command(self, "-test.run=^TestKilledWorker$", "-test.v=false")
	cmd.Env = append(os.Environ(), killedStudy+"="+path)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := bufio.NewScanner(out)
	require.True(t, lines.Scan())
	require.Equal(t, "shown", lines.Text())
	time.Sleep(time.Second)
	require.NoError(t, cmd.Process.Kill()) // SIGKILL on Unix
	require.Error(t, cmd.Wait())

	s, queue := worker()
	s.Book().Open(path, func(err error) { require.NoError(t, err) })
	drain(t, s, queue)
	require.Len(t, s.Strip().Films(), 1)
	f := s.Strip().Films()[0]
	require.Equal(t, session.Edited, f.State())
	require.Equal(t, measure.Circle{X: 300, Y: 292.75, R: 140}, f.Draft.Head.At)
	require.NoError(t, s.Close())
}
