package find_test

import (
	"context"
	"errors"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

func replaced(side measure.Side, headMM, shellMM float64) phantom.Hip {
	h := phantom.DefaultHip(side)
	h.HeadMM, h.ShellMM = headMM, shellMM
	return h
}

func TestHipsPhantom(t *testing.T) {
	for _, c := range []struct {
		name    string
		hips    []phantom.Hip
		opt     find.Options
		want    []measure.Side
		warning *measure.Warning
	}{
		{"right", []phantom.Hip{replaced(measure.Right, 28, 54)}, find.Options{HeadMM: 28, Spacing: 0.148}, []measure.Side{measure.Right}, nil},
		{"left, spacing unknown", []phantom.Hip{replaced(measure.Left, 36, 56)}, find.Options{HeadMM: 36}, []measure.Side{measure.Left}, nil},
		{"both", []phantom.Hip{replaced(measure.Right, 32, 50), replaced(measure.Left, 32, 58)}, find.Options{HeadMM: 32, Spacing: 0.148}, []measure.Side{measure.Right, measure.Left}, nil},
		{"one of both", []phantom.Hip{replaced(measure.Right, 32, 50), replaced(measure.Left, 32, 58)}, find.Options{HeadMM: 32, Spacing: 0.148, Side: measure.Left}, []measure.Side{measure.Left}, nil},
		{"another side asked for", []phantom.Hip{replaced(measure.Right, 28, 54)}, find.Options{HeadMM: 28, Spacing: 0.148, Side: measure.Left}, []measure.Side{measure.Left},
			&measure.Warning{Code: measure.SideContradicts, Case: measure.AskedShape, Values: map[string]any{"Asked": "left", "Body": "right"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := phantom.Default()
			s.Hips = c.hips
			s.Seed, s.Patient = 3, 9
			patch, err := phantom.Render(s)
			require.NoError(t, err)
			truths, err := phantom.Truths(s)
			require.NoError(t, err)
			hips, err := find.Hips(context.Background(), patch, c.opt)
			require.NoError(t, err)
			require.Len(t, hips, len(c.want))
			for i, h := range hips {
				assert.Equal(t, c.want[i], h.Side)
				assert.Equal(t, measure.Shell, h.CupKind)
				truth := truths[0]
				for _, other := range truths {
					if math.Abs(other.Head.X-h.Head.X) < math.Abs(truth.Head.X-h.Head.X) {
						truth = other
					}
				}
				mm := c.opt.HeadMM / (2 * truth.Head.R)
				assert.Less(t, mm*math.Hypot(h.Head.X-truth.Head.X, h.Head.Y-truth.Head.Y), 0.08, "head, mm")
				assert.Less(t, mm*math.Hypot(h.Cup.X-truth.Cup.X, h.Cup.Y-truth.Cup.Y), 0.12, "cup, mm")
				if c.warning == nil {
					assert.Empty(t, h.Warnings)
				} else {
					assert.Contains(t, h.Warnings, *c.warning)
				}
			}
		})
	}
}

func TestHipsNative(t *testing.T) {
	s := phantom.Default()
	patch, err := phantom.Render(s)
	require.NoError(t, err)
	for _, headMM := range []float64{22, 28, 36, 44} {
		for _, spacing := range []float64{s.Spacing, 0} {
			_, err := find.Hips(context.Background(), patch, find.Options{HeadMM: headMM, Spacing: spacing})
			var refusal *measure.Refusal
			assert.ErrorAs(t, err, &refusal, "head %g mm", headMM)
		}
	}
}

// Metal that is no hip replacement: the body of a plate with its screws, a nail
// with its lag screw, a calibration ball, a washer around a screw.
func TestHipsOtherMetal(t *testing.T) {
	s := phantom.Default()
	s = s.Around(measure.Right, 200)
	native, err := phantom.Render(s)
	require.NoError(t, err)
	size := native.Bounds().Size()
	cx, cy, px := float64(size.X)/2, float64(size.Y)/2, 1.15/s.Spacing // px per mm at the hip
	type solid func(x, y float64) bool                                 // mm from the film's middle
	disc := func(x, y, r float64) solid {
		return func(u, v float64) bool { return math.Hypot(u-x, v-y) < r }
	}
	bar := func(x, y, x2, y2, half float64) solid {
		return func(u, v float64) bool {
			dx, dy := x2-x, y2-y
			k := max(0, min(1, ((u-x)*dx+(v-y)*dy)/(dx*dx+dy*dy)))
			return math.Hypot(u-x-k*dx, v-y-k*dy) < half
		}
	}
	sizes := []float64{28}
	if !testing.Short() {
		sizes = append(sizes, 22, 36)
	}
	for _, c := range []struct {
		name string
		of   []solid
	}{
		{"plate and screws", []solid{bar(-30, 0, -25, 70, 8), bar(-32, 5, 10, 0, 2.2), bar(-30, 25, 8, 22, 2.2), bar(-28, 45, 5, 44, 2.2), disc(-30, 5, 4)}},
		{"nail", []solid{bar(-25, 10, -22, 80, 6), bar(-40, 45, 5, -5, 5)}},
		{"ball", []solid{disc(-50, 30, 14)}},
		{"ball over the femoral head", []solid{disc(2, -3, 14)}},
		{"washer", []solid{func(u, v float64) bool { r := math.Hypot(u+20, v-20); return r < 9 && r > 4 }, bar(-20, 20, 15, 5, 3)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			patch := image.NewGray16(native.Bounds())
			copy(patch.Pix, native.Pix)
			rng := rand.New(rand.NewPCG(3, 4))
			for y := range size.Y {
				for x := range size.X {
					for _, in := range c.of {
						if in((float64(x)-cx)/px, (float64(y)-cy)/px) {
							patch.SetGray16(x, y, color.Gray16{Y: uint16(16000 + 60*rng.NormFloat64())})
						}
					}
				}
			}
			for _, headMM := range sizes {
				hips, err := find.Hips(context.Background(), patch, find.Options{HeadMM: headMM, Spacing: s.Spacing})
				var refusal *measure.Refusal
				assert.ErrorAs(t, err, &refusal, "head %g mm", headMM)
				assert.Empty(t, hips)
			}
		})
	}
}

// poor returns images that hold no film, of odd sizes among others.
func poor() map[string]*image.Gray16 {
	rng := rand.New(rand.NewPCG(8, 9))
	fill := func(w, h int, level func() uint16) *image.Gray16 {
		img := image.NewGray16(image.Rect(0, 0, w, h))
		for y := range h {
			for x := range w {
				img.SetGray16(x, y, color.Gray16{Y: level()})
			}
		}
		return img
	}
	noise := func() uint16 { return uint16(20000 + 3000*rng.NormFloat64()) }
	salt := func() uint16 { return uint16(65535 * rng.IntN(2)) }
	flat := func() uint16 { return 12000 }
	full := func() uint16 { return 65535 }
	images := map[string]*image.Gray16{
		"empty": fill(0, 0, flat), "one pixel": fill(1, 1, flat), "one row": fill(900, 1, noise),
		"one column": fill(1, 900, noise), "small": fill(40, 50, noise), "flat": fill(700, 600, flat),
		"saturated": fill(700, 600, full), "noise": fill(900, 800, noise), "black and white": fill(900, 800, salt),
		"narrow": fill(70, 1500, noise),
	}
	half := fill(800, 800, flat)
	for y := range 800 {
		for x := 400; x < 800; x++ {
			half.SetGray16(x, y, color.Gray16{Y: 50000})
		}
	}
	images["two halves"] = half
	images["disc alone"] = disc(900, 900, measure.Circle{X: 450, Y: 450, R: 110}, 10000, 40000, 1.2, 300, 1)
	chest := fill(900, 900, flat)
	for y := range 900 {
		for x := range 900 {
			lung := math.Exp(-math.Pow(float64(x-250)/110, 4)-math.Pow(float64(y-420)/300, 4)) + math.Exp(-math.Pow(float64(x-650)/110, 4)-math.Pow(float64(y-420)/300, 4))
			rib := 2000 * math.Sin(float64(y)/18+math.Abs(float64(x-450))/120)
			chest.SetGray16(x, y, color.Gray16{Y: uint16(30000 - 15000*lung + rib + 300*rng.NormFloat64())})
		}
	}
	images["chest"] = chest
	return images
}

func TestHipsRefuses(t *testing.T) {
	for name, img := range poor() {
		for _, spacing := range []float64{0, 0.15, 0.4} {
			t.Run(name, func(t *testing.T) {
				hips, err := find.Hips(context.Background(), img, find.Options{HeadMM: 28, Spacing: spacing})
				var refusal *measure.Refusal
				require.ErrorAs(t, err, &refusal)
				assert.NotEmpty(t, refusal.Reason)
				assert.Empty(t, hips)
			})
		}
	}
}

func TestHipsOptions(t *testing.T) {
	img := image.NewGray16(image.Rect(0, 0, 200, 200))
	_, err := find.Hips(context.Background(), img, find.Options{})
	assert.EqualError(t, err, "measure: find.head-diameter MM=0")
	_, err = find.Hips(context.Background(), img, find.Options{HeadMM: 28, Spacing: -1})
	assert.EqualError(t, err, "measure: find.spacing MM=-1")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = find.Hips(ctx, img, find.Options{HeadMM: 28})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestRefineRefuses(t *testing.T) {
	for name, img := range poor() {
		if name == "disc alone" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			for _, part := range []measure.Part{measure.Head, measure.Cup} {
				for _, start := range []measure.Circle{{X: 450, Y: 400, R: 100}, {X: -50, Y: 0, R: 60}, {X: 1e9, Y: 3, R: 40}, {X: 20, Y: 20, R: 8}} {
					checkOutline(t, img, start, part)
				}
			}
		})
	}
	img := poor()["noise"]
	for _, start := range []measure.Circle{{}, {R: -3}, {X: math.NaN(), R: 50}, {R: math.Inf(1)}} {
		_, err := find.Refine(img, start, measure.Head)
		assert.ErrorIs(t, err, find.ErrNoOutline)
	}
}

// checkOutline refines, and accepts ErrNoOutline or finite numbers.
func checkOutline(t *testing.T, img *image.Gray16, start measure.Circle, part measure.Part) {
	t.Helper()
	o, err := find.Refine(img, start, part)
	if err != nil {
		if !errors.Is(err, find.ErrNoOutline) {
			t.Errorf("refine %v: %v", start, err)
		}
		return
	}
	sum := o.X + o.Y + o.R + o.Arc + o.RMS
	for i := range o.Cov {
		for j := range o.Cov[i] {
			sum += o.Cov[i][j]
		}
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) || o.Cov[0][0] < 0 || o.Cov[1][1] < 0 || o.Cov[2][2] < 0 {
		t.Errorf("refine %v: not finite: %+v", start, o.CircleFit)
	}
}

func FuzzRefine(f *testing.F) {
	f.Add(uint64(1), 120.0, 110.0, 50.0, 90, 80)
	f.Add(uint64(2), 0.0, 0.0, 8.0, 1, 300)
	f.Add(uint64(3), 64.5, 63.5, 30.0, 128, 128)
	f.Add(uint64(4), 1e6, -1e6, 1e4, 17, 5)
	f.Fuzz(func(t *testing.T, seed uint64, x, y, r float64, w, h int) {
		if w < 0 || h < 0 || w > 300 || h > 300 {
			t.Skip()
		}
		rng := rand.New(rand.NewPCG(seed, 2))
		c := measure.Circle{X: float64(w) * rng.Float64(), Y: float64(h) * rng.Float64(), R: 10 + 60*rng.Float64()}
		img := disc(w, h, c, 65535*rng.Float64(), 65535*rng.Float64(), 0.5+2*rng.Float64(), 3000*rng.Float64(), seed)
		checkOutline(t, img, measure.Circle{X: x, Y: y, R: r}, measure.Part(seed%2))
	})
}

// The time to both outlines, without decoding: of a whole film of 2880 x 2400 pixels, and
// of 150 mm around the hip.
func BenchmarkHips(b *testing.B) {
	for _, cup := range []measure.CupKind{measure.Shell, measure.Wire} {
		for _, part := range []string{"whole", "cropped"} {
			b.Run(string(cup)+"/"+part, func(b *testing.B) {
				s := phantom.Default()
				h := phantom.DefaultHip(measure.Right)
				h.Cup = cup
				s.Hips = []phantom.Hip{h}
				if part == "cropped" {
					s = s.Around(h.Side, 150)
				}
				img, err := phantom.Render(s)
				if err != nil {
					b.Fatal(err)
				}
				for b.Loop() {
					if _, err := find.Hips(context.Background(), img, find.Options{HeadMM: h.HeadMM, Spacing: s.Spacing}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
