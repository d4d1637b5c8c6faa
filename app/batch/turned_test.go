package batch

import (
	"encoding/binary"
	"image"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// quarter returns a picture turned clockwise by a right angle.
func quarter(p *image.Gray16) *image.Gray16 {
	w, h := p.Rect.Dx(), p.Rect.Dy()
	out := image.NewGray16(image.Rect(0, 0, h, w))
	for y := range h {
		for x := range w {
			binary.BigEndian.PutUint16(out.Pix[x*out.Stride+2*(h-1-y):], binary.BigEndian.Uint16(p.Pix[y*p.Stride+2*x:]))
		}
	}
	return out
}

// A film that lies otherwise than its file says, or than a film lies of which the file says
// nothing, is left out by what it shows until a reader says what it is; one that lies as its
// file says is brought upright.
func TestTurnedFilmsAreLeftOut(t *testing.T) {
	scene := phantom.Plain(measure.Right).Around(measure.Right, 70)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	turns := []*image.Gray16{img}
	for range 3 {
		turns = append(turns, quarter(turns[len(turns)-1]))
	}
	dir := t.TempDir()
	measured := func(name string, turn int, rows, columns string, given ...Given) study.Measurement {
		path := filepath.Join(dir, name+".dcm")
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
			Pixels: turns[turn], Bits: scene.Bits, Photometric: "MONOCHROME2", Laterality: "R", View: "AP", Orientation: [2]string{rows, columns},
			Geometry: dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}},
		}))
		ms, err := Measure(t.Context(), []string{path}, MeasureOptions{HeadMM: phantom.DefaultHip(measure.Right).HeadMM, Side: measure.Right, Given: given}, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		return ms[0]
	}
	upright := measured("upright", 0, "L", "F")
	require.Equal(t, study.Measured, upright.Status, study.NoteWords(upright.Reason))
	for name, c := range map[string]struct {
		turn          int
		rows, columns string
	}{"half": {2, "R", "H"}, "clockwise": {1, "H", "L"}, "counterclockwise": {3, "F", "R"}} {
		m := measured("stated-"+name, c.turn, c.rows, c.columns)
		require.Equal(t, study.Measured, m.Status, "%s: %s", name, study.NoteWords(m.Reason))
		require.Equal(t, upright.Reading, m.Reading, name)
	}
	for name, c := range map[string]struct {
		turn          int
		rows, columns string
		code          string
	}{
		"unstated half":             {2, "", "", "turned.kept-out"},
		"unstated clockwise":        {1, "", "", "turned.kept-out"},
		"unstated counterclockwise": {3, "", "", "turned.kept-out"},
		"wrongly half":              {0, "R", "H", "turned.by-tag"},
		"wrongly clockwise":         {0, "H", "L", "turned.by-tag"},
		"wrongly counterclockwise":  {0, "F", "R", "turned.by-tag"},
		"wrongly mirrored":          {0, "R", "F", "turned.by-tag"},
		"wrongly upside down":       {0, "L", "H", "turned.by-tag"},
	} {
		m := measured(name, c.turn, c.rows, c.columns)
		require.Equal(t, study.Refused, m.Status, name)
		require.Equal(t, c.code, m.Reason.Code, "%s: %s", name, study.NoteWords(m.Reason))
	}
	m := measured("word", 2, "", "", Given{Film: "word.dcm", View: study.AP})
	require.Equal(t, study.Measured, m.Status, "a reader's word")
	require.False(t, m.Turned().IsZero())
}
