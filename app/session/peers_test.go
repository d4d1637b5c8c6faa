package session

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// peers waits for the fit of the other hips.
func (b *bench) peers() {
	for b.course.peers.busy {
		b.one()
	}
}

// The study's other hips are fitted once in the background for a hip that is opened, not
// when its outlines are moved.
func TestPeersAreFittedOnceForAHip(t *testing.T) {
	b, m := inStudy(t)
	ctx := t.Context()
	for i := range 6 {
		h := hip()
		h.ID, h.Patient = "", "P"+strconv.Itoa(i)
		h, err := m.SaveHip(ctx, h, study.Stamp{})
		require.NoError(t, err)
		for k, days := range []int{42, 120, 365, 730, 1461, 2557} {
			id := strconv.Itoa(i) + "-" + strconv.Itoa(k)
			f, err := m.SaveFilm(ctx, study.Film{ID: id, Facts: study.Facts{SHA256: id, Date: h.Surgery.AddDate(0, 0, days), SpacingMM: imagerMM}}, study.Stamp{})
			require.NoError(t, err)
			require.NoError(t, m.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, study.Stamp{}))
			years := float64(days) / 365
			up := 2 + (2+0.3*float64(i))*(1-math.Exp(-2*years)) + (1+0.15*float64(5*i%6))*years + 0.1*float64((7*i+5*k)%4)
			g := study.Measurement{Film: f, Status: study.Measured, Side: h.Side, HeadMM: 28,
				Head: outline(measure.Circle{X: cupX, Y: cupY - up, R: headRadius}), Cup: outline(measure.Circle{X: cupX, Y: cupY, R: cupRadius})}
			g, err = g.Read(study.Method{})
			require.NoError(t, err)
			require.NoError(t, m.AddReading(ctx, study.Reading{ID: "r" + id, HipID: h.ID, FilmID: f.ID, Reader: "R1", At: time.Unix(int64(i), 0), Measurement: g}))
		}
	}
	require.Nil(t, b.Course().Peers(), "not before the background has them")
	b.peers()
	fit := b.Course().Peers()
	require.NotNil(t, fit)
	b.Edits().Nudge(1, 0)
	require.False(t, b.course.peers.busy)
	require.Same(t, fit, b.Course().Peers())
	tr, err := b.Trend()
	require.NoError(t, err)
	require.Contains(t, study.NoteWords(fit.Model(tr).Note), "6 other hips")

	require.NoError(t, b.book.SetCounts("R9"))
	require.Nil(t, b.Course().Peers(), "of other readers")
	b.peers()
	require.Nil(t, b.Course().Peers(), "who have read none")
}
