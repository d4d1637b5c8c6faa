package phantom

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// crossTableScene is the default scene of a side as a lateral film.
func crossTableScene(side measure.Side, obliquity float64) Scene {
	s := Plain(side)
	s.Lateral, s.Obliquity = side, obliquity
	return s
}

// A head moved in space is seen along the body and to the front: what measure's
// Lateral states for an angled beam.
func TestTruthOfALateralFilm(t *testing.T) {
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		for _, obliquity := range []float64{0, 30, 45} {
			s := crossTableScene(side, obliquity)
			base, err := Truths(s)
			require.NoError(t, err)
			h := &s.Hips[0]
			h.Superior, h.Medial, h.Anterior = h.Superior+0.9, h.Medial+0.5, h.Anterior-0.7
			moved, err := Truths(s)
			require.NoError(t, err)
			sin, cos := math.Sincos(obliquity * math.Pi / 180)
			assert.InDelta(t, 0.9*cos+0.5*sin, moved[0].Offset.Superior-base[0].Offset.Superior, 0.01, "%v %g", side, obliquity)
			assert.InDelta(t, -0.7, moved[0].Offset.Medial-base[0].Offset.Medial, 0.01, "%v %g", side, obliquity)
			assert.InDelta(t, 14*1.15/s.Spacing, moved[0].Head.R, 0.5, "the hip lies SourceHip in front of the source")
		}
	}
}

func TestLateralFilmShowsOneHip(t *testing.T) {
	s := crossTableScene(measure.Right, 0)
	s.Lateral = measure.Left
	var e *SceneError
	require.ErrorAs(t, s.Validate(), &e)
	require.Equal(t, "Hips[0].Side", e.Field)
}
