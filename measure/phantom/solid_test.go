package phantom

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSphereChord(t *testing.T) {
	c := vec{20, -10, 5}
	for _, h := range []float64{0, 1, 7, 13.9, 13.999999, 14, 20} {
		d := vec{0.1, 0.2, -1}.unit()
		u, _ := d.basis()
		from := c.at(d, -1000).at(u, h)
		want := 2 * math.Sqrt(max(0, 14*14-h*h))
		assert.InDelta(t, want, ray{from, d}.sphere(c, 14).length(), 1e-6, "distance %g", h)
	}
}

func TestHalfSphere(t *testing.T) {
	// Straight through the rim plane from the side of the dome: half a chord.
	r := ray{vec{0, 0, 1000}, vec{0, 0, -1}}
	s := r.sphere(vec{}, 27).and(r.below(vec{}, vec{0, 0, 1}))
	assert.InDelta(t, 27, s.length(), 1e-9)
	assert.InDelta(t, 1000, s.a, 1e-9)
	// Along the rim plane, just inside and just outside.
	in := ray{vec{0, -0.001, 1000}, vec{0, 0, -1}}
	out := ray{vec{0, 0.001, 1000}, vec{0, 0, -1}}
	assert.InDelta(t, 54, in.sphere(vec{}, 27).and(in.below(vec{}, vec{0, 1, 0})).length(), 1e-6)
	assert.Zero(t, out.sphere(vec{}, 27).and(out.below(vec{}, vec{0, 1, 0})).length())
}

func TestConeChord(t *testing.T) {
	for _, c := range []struct {
		name string
		cone cone
		ray  ray
		want float64
	}{
		{"across a cylinder", newCone(vec{-10, 0, 0}, vec{10, 0, 0}, 3, 3), ray{vec{0, 1, 900}, vec{0, 0, -1}}, 2 * math.Sqrt(8)},
		{"aslant", newCone(vec{-10, 0, 0}, vec{10, 0, 0}, 3, 3), ray{vec{900, 0, 900}, vec{-1, 0, -1}.unit()}, 6 * math.Sqrt2},
		{"across a cone", newCone(vec{0, -10, 0}, vec{0, 10, 0}, 2, 6), ray{vec{0, 0, 900}, vec{0, 0, -1}}, 8},
		{"beyond the end", newCone(vec{0, -10, 0}, vec{0, 10, 0}, 2, 6), ray{vec{0, 10.1, 900}, vec{0, 0, -1}}, 0},
		{"beside", newCone(vec{0, -10, 0}, vec{0, 10, 0}, 2, 6), ray{vec{4.1, 0, 900}, vec{0, 0, -1}}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.InDelta(t, c.want, c.cone.cut(c.ray).length(), 1e-9)
		})
	}
}

func TestShellPath(t *testing.T) {
	h := DefaultHip(2)
	h.Inclination, h.Anteversion = 0, 60 // the rim faces the source but for 30 degrees
	m := newImplant(h)
	m.neck, m.stem.scale = nil, 1e-9
	dir := m.opening.mul(-1)
	var l lengths
	m.through(ray{m.cup.at(dir, -1000), dir}, &l)
	// Down the axis: head 28, then polyethylene from bore to shell, then wall.
	assert.InDelta(t, 28, l[cocr], 1e-6)
	assert.InDelta(t, 23-14.1, l[polyethylene], 1e-6)
	assert.InDelta(t, 4, l[titanium], 1e-6)
}

// The ring's polygon has the volume of the torus.
func TestRingVolume(t *testing.T) {
	h := DefaultHip(1)
	h.Cup, h.ShellMM, h.WireMM = "wire", 46, 1.2
	m := newImplant(h)
	var length float64
	for _, c := range m.ring() {
		length += c.length
	}
	assert.InEpsilon(t, 2*math.Pi*h.wireRadius(), length, 1e-4)
	// A ray across the wire at its lateral end meets its diameter.
	u, v := m.opening.basis()
	sin, cos := math.Sincos(math.Pi / 360) // the middle of a piece
	p := m.cup.at(u, h.wireRadius()*cos).at(v, h.wireRadius()*sin)
	var got float64
	for _, c := range m.ring() {
		got += c.cut(ray{p.at(m.opening, 500), m.opening.mul(-1)}).length()
	}
	assert.InDelta(t, 1.2, got, 0.01)
}

func TestBeerLambert(t *testing.T) {
	open := beam{}
	for i := range open.photons {
		open.photons[i] = float32(fluence[i])
	}
	open.sums()
	for _, c := range []struct {
		name string
		of   substance
		mm   float64
	}{{"titanium", titanium, 5}, {"cobalt-chromium", cocr, 2}, {"alumina", alumina, 28}, {"polyethylene", polyethylene, 10}} {
		t.Run(c.name, func(t *testing.T) {
			b := open
			l := lengths{}
			l[c.of] = c.mm
			b.dim(&l)
			// A slab that takes the place of water of its thickness.
			var signal float64
			for i := range bins {
				want := fluence[i] * math.Exp(-c.mm*attenuation[c.of][i]) / math.Exp(-c.mm*attenuation[water][i])
				assert.InEpsilon(t, want, float64(b.photons[i]), 1e-5)
				signal += want * energies[i] / meanEnergy
			}
			assert.InEpsilon(t, signal, float64(b.signal), 1e-5)
		})
	}
	// Titanium of 5 mm at 60 keV in air: exp(-0.5 cm x 4.43 g/cm³ x 0.7567 cm²/g),
	// the mass coefficient mixed by hand from the published elements.
	mass := 0.90*0.7661 + 0.06*0.2778 + 0.04*0.8438
	assert.InEpsilon(t, math.Exp(-0.5*4.43*mass), math.Exp(-5*attenuation[titanium][2]), 1e-9)
}

// Photons of 40 to 80 keV are absorbed by atoms near to molybdenum about as the
// fourth power of their number: the remembered coefficients of zirconium against
// the published ones of molybdenum.
func TestZirconium(t *testing.T) {
	for i, zr := range table["zirconium"] {
		assert.InEpsilon(t, table["molybdenum"][i]*math.Pow(40.0/42, 4)*95.95/91.22, zr, 0.03)
	}
}

func TestPublishedCoefficients(t *testing.T) {
	f, err := os.Open("testdata/nist_mass_attenuation.csv")
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, len(table), "all but zirconium, under a heading")
	for _, row := range rows[1:] {
		got, ok := table[row[0]]
		require.True(t, ok, row[0])
		for i, field := range row[1:] {
			want, err := strconv.ParseFloat(field, 64)
			require.NoError(t, err)
			assert.Equal(t, want, got[i], row[0])
		}
	}
	for m, r := range recipes {
		var sum float64
		for _, p := range r.parts {
			sum += p.share
		}
		assert.InDelta(t, 1, sum, 1e-9, "recipe %d", m)
	}
}
