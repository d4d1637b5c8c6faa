package find_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// hidden returns a window around a hip whose shell is as dense as its head.
func hidden(headMM, shellMM, version float64, head phantom.Material, poor bool) phantom.Scene {
	s := phantom.Default()
	s.Seed, s.Patient = 5, 11
	if poor {
		s = phantom.Hard(s)
	}
	h := replaced(measure.Right, headMM, shellMM)
	h.ShellMaterial, h.HeadMaterial, h.Anteversion = phantom.CoCr, head, version
	h.Superior, h.Medial = 0.8, 0.3
	s.Hips = []phantom.Hip{h}
	return s.Around(measure.Right, 150)
}

func TestHipsBehindShell(t *testing.T) {
	for _, c := range []struct {
		name                     string
		headMM, shellMM, version float64
		head, shell              phantom.Material
		poor                     bool
	}{
		{"cobalt-chrome", 28, 58, 24, phantom.CoCr, phantom.CoCr, false},
		{"large, opened wide", 40, 59, 29, phantom.Steel, phantom.CoCr, false},
		{"ceramic", 32, 57, 12, phantom.Alumina, phantom.CoCr, false},
		{"ceramic, poor film", 32, 53, 0, phantom.Alumina, phantom.CoCr, true},
		{"cobalt-chrome, clipped", 36, 58, 5, phantom.CoCr, phantom.CoCr, true},
		{"small, ceramic, poor film", 22, 53, 16, phantom.Alumina, phantom.Titanium, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := hidden(c.headMM, c.shellMM, c.version, c.head, c.poor)
			s.Hips[0].ShellMaterial = c.shell
			patch, err := phantom.Render(s)
			require.NoError(t, err)
			truths, err := phantom.Truths(s)
			require.NoError(t, err)
			hips, err := find.Hips(context.Background(), patch, find.Options{HeadMM: c.headMM, Spacing: s.Spacing, Side: measure.Right})
			require.NoError(t, err)
			require.Len(t, hips, 1)
			h, truth := hips[0], truths[0]
			mm := c.headMM / (2 * truth.Head.R)
			assert.Less(t, mm*math.Hypot(h.Head.X-truth.Head.X, h.Head.Y-truth.Head.Y), 0.35, "head, mm")
			assert.Less(t, mm*math.Hypot(h.Cup.X-truth.Cup.X, h.Cup.Y-truth.Cup.Y), 0.15, "cup, mm")
			for _, o := range h.Others {
				assert.NotEmpty(t, o.Reason)
				assert.Positive(t, max(o.Head.R, o.Cup.R))
			}
		})
	}
}

// A shell in which no head of the size asked for shows is refused, and the shell
// offered.
func TestRefusalOffersShell(t *testing.T) {
	s := hidden(28, 58, 24, phantom.CoCr, false)
	patch, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	_, err = find.Hips(context.Background(), patch, find.Options{HeadMM: 44, Spacing: s.Spacing})
	var refusal *measure.Refusal
	require.ErrorAs(t, err, &refusal)
	assert.Equal(t, "a metal shell without a head's outline in it", refusal.Reason)
	require.NotEmpty(t, refusal.Candidates)
	shell := refusal.Candidates[0].Cup
	mm := 28 / (2 * truths[0].Head.R)
	assert.Less(t, mm*math.Hypot(shell.X-truths[0].Cup.X, shell.Y-truths[0].Cup.Y), 2.0, "shell, mm")
}

// Where a head of another size is asked for, neither the shell's rim nor what it
// hides makes one.
func TestHipsAnotherSize(t *testing.T) {
	for _, c := range []struct {
		name                            string
		headMM, asked, shellMM, version float64
		head, shell                     phantom.Material
		poor                            bool
	}{
		{"dense shell", 26, 17, 52, 22, phantom.CoCr, phantom.CoCr, false},
		{"dense shell, poor film", 36, 23, 56, 29, phantom.CoCr, phantom.CoCr, true},
		{"poor film", 26, 17, 52, 8, phantom.CoCr, phantom.Titanium, true},
		{"ceramic, poor film", 26, 17, 52, 8, phantom.Alumina, phantom.Titanium, true},
		{"larger", 36, 56, 56, 22, phantom.CoCr, phantom.Titanium, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := hidden(c.headMM, c.shellMM, c.version, c.head, c.poor)
			s.Hips[0].ShellMaterial = c.shell
			patch, err := phantom.Render(s)
			require.NoError(t, err)
			hips, err := find.Hips(context.Background(), patch, find.Options{HeadMM: c.asked, Spacing: s.Spacing})
			var refusal *measure.Refusal
			assert.ErrorAs(t, err, &refusal)
			assert.Empty(t, hips)
		})
	}
}

func FuzzHips(f *testing.F) {
	f.Add(uint64(1), 200, 180, 28.0, 0.3, 3000.0)
	f.Add(uint64(2), 1, 300, 22.0, 0.0, 0.0)
	f.Add(uint64(3), 300, 300, 36.0, 0.5, 1e5)
	f.Add(uint64(4), 128, 299, 16.0, 0.15, 300.0)
	f.Fuzz(func(t *testing.T, seed uint64, w, h int, headMM, spacing, noise float64) {
		if w < 0 || h < 0 || w > 300 || h > 300 {
			t.Skip()
		}
		rng := rand.New(rand.NewPCG(seed, 7))
		c := measure.Circle{X: float64(w) * rng.Float64(), Y: float64(h) * rng.Float64(), R: 10 + 100*rng.Float64()}
		img := disc(w, h, c, 65535*rng.Float64(), 65535*rng.Float64(), 0.5+2*rng.Float64(), noise, seed)
		hips, err := find.Hips(context.Background(), img, find.Options{HeadMM: headMM, Spacing: spacing})
		if err == nil && len(hips) == 0 {
			t.Error("neither a hip nor an error")
		}
		for _, hip := range hips {
			sum := hip.Head.X + hip.Head.Y + hip.Head.R + hip.Cup.X + hip.Cup.Y + hip.Cup.R
			if math.IsNaN(sum) || math.IsInf(sum, 0) {
				t.Errorf("not finite: %v, %v", hip.Head.Circle, hip.Cup.Circle)
			}
		}
	})
}
