package phantom

import "math"

// Material names what a part of an implant is made of.
type Material string

// The materials of implants.
const (
	CoCr     Material = "CoCr"     // cobalt-chromium-molybdenum
	Titanium Material = "titanium" // Ti-6Al-4V
	Alumina  Material = "alumina"
	Steel    Material = "steel" // stainless
	Zirconia Material = "zirconia"
)

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
	case Zirconia:
		return zirconia
	}
	return def
}

const bins = 4

// energies are the photon energies of the spectrum in keV, and fluence the
// share of photons of each before the patient: a coarse filtered beam of about
// 80 kV, common practice for a pelvis, no source.
var (
	energies = [bins]float64{40, 50, 60, 80}
	fluence  = [bins]float64{0.30, 0.32, 0.25, 0.13}
)

// spectrum returns the fluence of a beam of another hardness: harder beams have
// more photons of high energy, by a factor that grows evenly with the energy.
func spectrum(hardness float64) [bins]float64 {
	if hardness == 0 {
		return fluence
	}
	var s [bins]float64
	var sum float64
	for i, f := range fluence {
		s[i] = f * math.Exp(hardness*(energies[i]-50)/30)
		sum += s[i]
	}
	for i := range s {
		s[i] /= sum
	}
	return s
}

// meanEnergy is the mean of the spectrum, keV.
var meanEnergy = func() (m float64) {
	for i, f := range fluence {
		m += f * energies[i]
	}
	return m
}()

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
	zirconia
	substances
)

// table holds mass attenuation coefficients in cm²/g at energies: Hubbell JH,
// Seltzer SM. NIST Standard Reference Database 126 (NISTIR 5632). Those of
// zirconium are from memory.
var table = map[string][bins]float64{
	"oxygen":       {0.2585, 0.2132, 0.1907, 0.1678},
	"aluminium":    {0.5685, 0.3681, 0.2778, 0.2018},
	"sulphur":      {0.9872, 0.5849, 0.4053, 0.2585},
	"titanium":     {2.214, 1.213, 0.7661, 0.4052},
	"vanadium":     {2.472, 1.347, 0.8438, 0.4371},
	"chromium":     {2.856, 1.550, 0.9639, 0.4905},
	"iron":         {3.629, 1.958, 1.205, 0.5952},
	"cobalt":       {3.981, 2.144, 1.314, 0.6414},
	"nickel":       {4.600, 2.474, 1.512, 0.7306},
	"molybdenum":   {12.94, 7.037, 4.274, 1.962},
	"zirconium":    {11.39, 6.173, 3.744, 1.721},
	"barium":       {24.57, 13.79, 8.511, 3.963},
	"water":        {0.2683, 0.2269, 0.2059, 0.1837},
	"fat":          {0.2396, 0.2123, 0.1974, 0.1800},
	"bone":         {0.6655, 0.4242, 0.3148, 0.2229},
	"polyethylene": {0.2275, 0.2084, 0.1970, 0.1823},
	"acrylic":      {0.2350, 0.2074, 0.1924, 0.1751},
}

// recipe is a density in g/cm³ and the mass fractions of entries of table.
type recipe struct {
	density float64
	parts   []ingredient
}

// ingredient is a mass fraction of an entry of table.
type ingredient struct {
	name  string
	share float64
}

// recipes uses nominal compositions and densities from memory: alloys to ASTM
// F75, F136 and F138, and bone cement with a tenth of barium sulphate.
var recipes = map[substance]recipe{
	water:        {1.00, []ingredient{{"water", 1}}},
	fat:          {0.95, []ingredient{{"fat", 1}}},
	bone:         {1.92, []ingredient{{"bone", 1}}},
	cocr:         {8.30, []ingredient{{"cobalt", 0.65}, {"chromium", 0.29}, {"molybdenum", 0.06}}},
	titanium:     {4.43, []ingredient{{"titanium", 0.90}, {"aluminium", 0.06}, {"vanadium", 0.04}}},
	polyethylene: {0.94, []ingredient{{"polyethylene", 1}}},
	alumina:      {3.96, []ingredient{{"aluminium", 0.529}, {"oxygen", 0.471}}},
	steel:        {7.95, []ingredient{{"iron", 0.65}, {"chromium", 0.18}, {"nickel", 0.14}, {"molybdenum", 0.03}}},
	zirconia:     {6.05, []ingredient{{"zirconium", 0.74}, {"oxygen", 0.26}}},
	cement:       {1.25, []ingredient{{"acrylic", 0.9}, {"barium", 0.0588}, {"sulphur", 0.0137}, {"oxygen", 0.0275}}},
}

// attenuation holds linear attenuation coefficients per mm at energies.
var attenuation = func() (mu [substances][bins]float64) {
	for m, r := range recipes {
		for e := range bins {
			for _, p := range r.parts {
				mu[m][e] += r.density * p.share * table[p.name][e] / 10
			}
		}
	}
	return mu
}()
