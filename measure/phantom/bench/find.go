package main

import (
	"context"
	"errors"
	"image"
	"math"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/find"
)

// search is what is asked of a film.
type search struct {
	headMM  float64
	spacing float64      // mm per pixel at the detector, 0 where not told
	side    measure.Side // SideUnknown for every hip
	readAs  measure.Side // the side that offsets are read for
}

// ball is a fitted outline with its standard errors, px.
type ball struct {
	measure.Circle
	se [3]float64 // of X, Y, R
}

// outlined is one hip that the program outlined on a film.
type outlined struct {
	side           measure.Side
	kind           measure.CupKind
	head, cup      ball
	warned         []string // codes of the warnings
	offset         measure.Vector
	scale, seScale float64            // mm per px
	rim            measure.EllipseFit // A is 0 where it is not told
}

// measured measures a film as the program does with nobody looking: either there are
// hips, or refused says why not.
func measured(img *image.Gray16, s search) (hips []outlined, refused string, spent time.Duration, err error) {
	start := time.Now()
	found, err := find.Hips(context.Background(), img, find.Options{HeadMM: s.headMM, Spacing: s.spacing, Side: s.side})
	spent = time.Since(start)
	var no *measure.Refusal
	switch {
	case errors.As(err, &no):
		return nil, no.Reason.String(), spent, nil
	case err != nil:
		return nil, "", spent, err
	}
	for _, h := range found {
		o, err := outlinedBy(h, s)
		if err != nil {
			return nil, err.Error(), spent, nil // as the program refuses what it cannot read
		}
		hips = append(hips, o)
	}
	return hips, "", spent, nil
}

func outlinedBy(h measure.Hip, s search) (o outlined, err error) {
	o = outlined{side: h.Side, kind: h.CupKind, head: ballOf(h.Head.CircleFit), rim: h.Cup.RingFit()}
	if h.CupKind == measure.Shell {
		o.rim = h.Rim.EllipseFit
	}
	for _, w := range h.Warnings {
		o.warned = append(o.warned, w.Code)
	}
	if s.readAs != measure.SideUnknown {
		h.Side = s.readAs
	}
	cup, err := h.CupCircle(s.headMM, 0)
	if err != nil {
		return o, err
	}
	o.cup = ballOf(cup)
	r, err := measure.Read(h.Head.CircleFit, cup, s.headMM, h.Side, 0)
	o.offset, o.scale, o.seScale = r.Offset, r.Scale, r.SEScale
	return o, err
}

func ballOf(f measure.CircleFit) (b ball) {
	b.Circle = f.Circle
	for i := range b.se {
		b.se[i] = math.Sqrt(f.Cov[i][i])
	}
	return b
}

// aboutOutlines reports whether a warning makes a reader look at the outlines:
// those of side, beam, line and spacing do not.
func aboutOutlines(code string) bool {
	switch code {
	case measure.SideUnproven, measure.SideContradicts, "beam", "line", "spacing":
		return false
	}
	return true
}
