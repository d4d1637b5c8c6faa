package phantom

// Material names what a part of an implant is made of.
type Material string

// The materials of implants.
const (
	CoCr     Material = "CoCr"     // cobalt-chromium-molybdenum, ASTM F75
	Titanium Material = "titanium" // Ti-6Al-4V
	Alumina  Material = "alumina"
	Steel    Material = "steel" // stainless
)

// energies are the photon energies of the spectrum in keV, and fluence the
// share of photons of each before the patient: a coarse 75 to 85 kV beam.
const bins = 4

var (
	energies = [bins]float64{40, 50, 60, 80}
	fluence  = [bins]float64{0.30, 0.32, 0.25, 0.13}
)

// substance indexes attenuation.
type substance int

const (
	water substance = iota
	fat
	bone // cortical
	cocr
	titanium
	polyethylene
	alumina
	steel
	cement
	substances
)

// attenuation holds linear attenuation coefficients per mm at energies.
//
// Mass attenuation coefficients (cm²/g) are values of NIST XCOM (Berger MJ,
// Hubbell JH, et al., NIST Standard Reference Database 8) and of Hubbell JH,
// Seltzer SM, NISTIR 5632 (adipose tissue and cortical bone of ICRU Report 44),
// from memory; alloys, alumina and cement are mixed by mass fraction. Fe stands
// for stainless steel. They make the films look right; nothing is measured
// with them.
var attenuation = func() (mu [substances][bins]float64) {
	for m, t := range map[substance]struct {
		density float64 // g/cm³
		mass    [bins]float64
	}{
		water:        {1.00, [bins]float64{0.2683, 0.2269, 0.2059, 0.1837}},
		fat:          {0.95, [bins]float64{0.2396, 0.2123, 0.1974, 0.1800}},
		bone:         {1.92, [bins]float64{0.6655, 0.4242, 0.3148, 0.2229}},
		cocr:         {8.30, [bins]float64{4.22, 2.28, 1.40, 0.682}}, // 0.65 Co, 0.29 Cr, 0.06 Mo
		titanium:     {4.43, [bins]float64{2.14, 1.18, 0.749, 0.399}},
		polyethylene: {0.94, [bins]float64{0.2275, 0.2084, 0.1970, 0.1823}},
		alumina:      {3.96, [bins]float64{0.4226, 0.2952, 0.2368, 0.1858}},
		steel:        {7.90, [bins]float64{3.629, 1.958, 1.205, 0.5952}},
		cement:       {1.25, [bins]float64{1.65, 1.02, 0.69, 0.41}}, // acrylic with 0.1 barium sulphate
	} {
		for e, x := range t.mass {
			mu[m][e] = x * t.density / 10
		}
	}
	return mu
}()

func (m Material) substance(def substance) substance {
	switch m {
	case CoCr:
		return cocr
	case Titanium:
		return titanium
	case Alumina:
		return alumina
	case Steel:
		return steel
	}
	return def
}
