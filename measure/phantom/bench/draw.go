package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// kind is what is drawn on a film.
type kind struct {
	cup  measure.CupKind
	head phantom.Material
	poor bool // phantom.Hard

	dense bool // a shell of cobalt-chrome, as dense as the head that it hides; drawn for one hip in four
}

// hard reports whether a film is of the hard class.
func (k kind) hard() bool {
	return k.poor || k.dense || k.cup == measure.Wire || k.head == phantom.Alumina
}

// String names a class.
func (k kind) String() string {
	class, film := "plain", "clear"
	if k.hard() {
		class = "hard"
	}
	if k.poor {
		film = "poor"
	}
	cup := string(k.cup)
	if k.dense {
		cup = "dense shell"
	}
	return class + ", " + film + " " + cup + " " + string(k.head)
}

// kinds is the cycle through which the hips go.
var kinds = []kind{
	{cup: measure.Shell, head: phantom.CoCr}, {cup: measure.Wire, head: phantom.Steel},
	{cup: measure.Shell, head: phantom.CoCr}, {cup: measure.Shell, head: phantom.CoCr, poor: true},
	{cup: measure.Shell, head: phantom.Steel}, {cup: measure.Shell, head: phantom.Alumina},
	{cup: measure.Shell, head: phantom.CoCr}, {cup: measure.Wire, head: phantom.CoCr},
	{cup: measure.Shell, head: phantom.CoCr}, {cup: measure.Shell, head: phantom.Steel, poor: true},
	{cup: measure.Shell, head: phantom.Steel}, {cup: measure.Wire, head: phantom.Alumina},
	{cup: measure.Shell, head: phantom.CoCr}, {cup: measure.Wire, head: phantom.Steel, poor: true},
	{cup: measure.Shell, head: phantom.CoCr}, {cup: measure.Shell, head: phantom.Alumina, poor: true},
}

// hips draws the hips of the chosen classes.
func hips(c config) (todo []drawing, err error) {
	var chosen []kind
	for _, k := range kinds {
		if strings.Contains(k.String(), c.class) {
			chosen = append(chosen, k)
		}
	}
	if len(chosen) == 0 {
		return nil, fmt.Errorf("no class contains %q", c.class)
	}
	for i := range c.hips {
		todo = append(todo, draw(c, i, chosen[i%len(chosen)]))
	}
	return todo, nil
}

// drawing is one hip with its three films.
type drawing struct {
	number int
	kind   kind
	whole  bool
	scenes [3]phantom.Scene // the hip is the first
}

// draw draws the hip of a number; the same seed gives the same hip.
func draw(c config, number int, k kind) drawing {
	rng := rand.New(rand.NewPCG(c.seed, uint64(number)))
	d := drawing{number: number, kind: k, whole: c.whole > 0 && rng.IntN(c.whole) == 0}
	s, h, other := patient(rng), drawHip(rng, k), drawHip(rng, k)
	d.kind.dense = k.cup == measure.Shell && h.ShellMaterial == phantom.CoCr
	both := rng.IntN(3) == 0
	if k.poor {
		s = phantom.Hard(s)
	}
	room := h.ShellMM/2 - h.HeadMM/2
	if k.cup == measure.Shell {
		room -= 4
	}
	total := min(3, 0.8*room) * rng.Float64()
	sin, cos := math.Sincos((-30 + 90*rng.Float64()) * math.Pi / 180)
	for film, part := range []float64{0, 0.4, 1} {
		h.Superior, h.Medial = total*part*cos, total*part*sin
		f := s
		f.Seed = rng.Uint64()
		f.ShiftX, f.ShiftY = 8*rng.NormFloat64(), 8*rng.NormFloat64()
		f.Tilt, f.Rotation, f.Roll = 2*rng.NormFloat64(), 2*rng.NormFloat64(), rng.NormFloat64()
		f.Hips = []phantom.Hip{h}
		if both {
			other.Side, other.HeadMM = measure.Right+measure.Left-h.Side, h.HeadMM
			other.ShellMM = max(other.ShellMM, least(k, h.HeadMM))
			f.Hips = append(f.Hips, other)
		}
		if !d.whole {
			f = f.Around(h.Side, 150)
		}
		d.scenes[film] = f
	}
	return d
}

// patient draws a film of some patient without a replaced hip.
func patient(rng *rand.Rand) phantom.Scene {
	s := phantom.Default()
	s.Spacing = 0.1 + 0.1*rng.Float64()
	s.Width, s.Height = int(426/s.Spacing), int(355/s.Spacing)
	s.SourceHip = s.SourceImage / (1.08 + 0.2*rng.Float64())
	s.Patient, s.Seed = rng.Uint64(), rng.Uint64()
	s.BodyMM = 190 + 50*rng.Float64()
	s.Dose = 30000 + 60000*rng.Float64()
	s.BlurMM = 0.2 + 0.2*rng.Float64()
	return s
}

// least is the smallest cup a head of headMM fits in, mm.
func least(k kind, headMM float64) float64 {
	if k.cup == measure.Wire {
		return max(40, headMM+13)
	}
	return max(44, headMM+14)
}

// drawHip draws a replaced hip.
func drawHip(rng *rand.Rand, k kind) phantom.Hip {
	heads := []float64{22, 26, 28, 28, 30, 32, 32, 36, 36, 38, 40}
	h := phantom.DefaultHip([]measure.Side{measure.Right, measure.Left}[rng.IntN(2)])
	h.Cup, h.HeadMaterial = k.cup, k.head
	h.HeadMM = heads[rng.IntN(len(heads))]
	most := 62.0
	if k.cup == measure.Wire {
		h.HeadMM, most = min(h.HeadMM, 32), 56
		h.WireMM = 0.6 + 0.6*rng.Float64()
	}
	h.ShellMM = math.Round(least(k, h.HeadMM) + (most-least(k, h.HeadMM))*rng.Float64())
	if rng.IntN(4) == 0 {
		h.ShellMaterial = phantom.CoCr
	}
	h.Inclination = 30 + 30*rng.Float64()
	h.Anteversion = 30 * rng.Float64()
	h.Screws = rng.IntN(4)
	h.Holes = rng.IntN(2) == 0
	h.Abduction = -4 + 8*rng.Float64()
	return h
}
