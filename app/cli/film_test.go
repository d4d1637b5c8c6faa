package cli_test

import (
	"cmp"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// writeFilm writes a phantom film. side is "right", "left", "both" or "none";
// settings are sup=MM, med=MM, head=MM, patient=CODE, tag=R, spacing=MM (0 for
// none), row=MM (where it differs), source=MM (0 for none), seed=N, inc=DEG, wire=1
// (a cemented cup with ver=DEG), shiftx=MM, shifty=MM, roll=DEG, tilt=DEG, window=MM,
// view=LL, whole=1 (the whole film in larger pixels), flat (nothing exposed).
func writeFilm(path, side, date string, settings []string) error {
	set := map[string]string{}
	for _, s := range settings {
		name, value, _ := strings.Cut(s, "=")
		set[name] = value
	}
	number := func(name string, def float64) float64 {
		if set[name] == "" {
			return def
		}
		v, err := strconv.ParseFloat(set[name], 64)
		if err != nil {
			panic(err)
		}
		return v
	}
	s, err := filmScene(side, number)
	if err != nil {
		return err
	}
	f := &dicomio.Film{
		Bits: s.Bits, Photometric: "MONOCHROME2", Modality: "DX", View: cmp.Or(set["view"], "AP"), Date: day(date),
		PatientCode: set["patient"], Laterality: set["tag"],
		Geometry: dicomio.Geometry{SourceImage: s.SourceImage, SourcePatient: s.SourceHip},
	}
	f.Geometry.SourceImage = number("source", s.SourceImage)
	if mm := number("spacing", s.Spacing); mm > 0 {
		f.Geometry.Imager = [2]float64{number("row", mm), mm}
	}
	if _, flat := set["flat"]; flat {
		f.Pixels = image.NewGray16(image.Rect(0, 0, 300, 200))
		for i := range 60000 {
			f.Pixels.SetGray16(i%300, i/300, color.Gray16{Y: uint16(i % 1000)})
		}
	} else if f.Pixels, err = phantom.Render(s); err != nil {
		return err
	}
	return dicomio.WriteFile(path, f)
}

// filmScene is a scene around one hip, or of the whole pelvis with both.
func filmScene(side string, number func(string, float64) float64) (phantom.Scene, error) {
	s := phantom.Default()
	s.Seed = uint64(number("seed", 1))
	hip := func(of measure.Side) phantom.Hip {
		h := phantom.DefaultHip(of)
		h.HeadMM, h.ShellMM = number("head", h.HeadMM), number("shell", h.ShellMM)
		h.Superior, h.Medial, h.Anterior = number("sup", 0), number("med", 0), number("ant", 0)
		h.Inclination = number("inc", h.Inclination)
		if number("wire", 0) == 1 {
			h.Cup, h.ShellMM, h.Anteversion = measure.Wire, 50, number("ver", 20)
		}
		return h
	}
	switch side {
	case "right", "left":
		of, err := measure.ParseSide(side)
		if err != nil {
			return s, err
		}
		s.Hips = []phantom.Hip{hip(of)}
		s.ShiftX, s.ShiftY = number("shiftx", 0), number("shifty", 0)
		s.Roll, s.Tilt = number("roll", 0), number("tilt", 0)
		if number("lateral", 0) == 1 {
			s.Lateral, s.Obliquity = of, number("angle", 0)
		}
		if number("whole", 0) == 1 {
			return coarse(s), nil
		}
		return s.Around(of, number("window", filmMM)), nil
	case "both":
		s.Hips = []phantom.Hip{hip(measure.Right), hip(measure.Left)}
		return coarse(s), nil
	case "none":
		return s.Around(measure.Right, filmMM), nil
	}
	return s, fmt.Errorf("side %q", side)
}

// coarse is a whole film in larger pixels.
func coarse(s phantom.Scene) phantom.Scene {
	s.Width, s.Height, s.Spacing = s.Width*2/3, s.Height*2/3, s.Spacing*3/2
	return s
}

// filmMM is the side of a small film, mm on the detector.
const filmMM = 150

// pictures are the words of scripts about what films look like:
//
//	copy A.dcm B.dcm           A is a file named from the folder of these tests
//	orient A.dcm ROWS COLUMNS  say where the film's rows and columns run to
//	shown A.png X Y V          the 8-bit picture has V at X, Y
func (s *script) pictures(at, word string, f []string) bool {
	t := s.t
	switch word {
	case "copy":
		b, err := os.ReadFile(filepath.Join(s.home, filepath.FromSlash(f[0])))
		require.NoError(t, err, at)
		require.NoError(t, os.WriteFile(f[1], b, 0o600), at)
	case "orient":
		value := f[1] + `\` + f[2]
		if len(value)%2 == 1 {
			value += " "
		}
		require.NoError(t, setElements(f[0], element{0x00200020, "CS", []byte(value)}), at)
	case "shown":
		file, err := os.Open(f[0])
		require.NoError(t, err, at)
		img, err := png.Decode(file)
		require.NoError(t, err, at)
		require.NoError(t, file.Close(), at)
		g, ok := img.(*image.Gray)
		require.True(t, ok, "%s: the picture is 8-bit grey", at)
		var x, y int
		_, err = fmt.Sscan(f[1]+" "+f[2], &x, &y)
		require.NoError(t, err, at)
		require.Equal(t, f[3], strconv.Itoa(int(g.GrayAt(x, y).Y)), at)
	default:
		return false
	}
	return true
}
