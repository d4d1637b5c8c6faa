// Package batch is what is done with nobody looking: films are measured, aligned,
// described, copied without identity or drawn as pictures, a study file is opened, and
// the demo study is made. It prints nothing; commands do, and a session does with
// some of it what a reader asks for.
//
// # Films
//
// Paths name films and folders of films. Each film, or each hip on it, is a row of
// the result in the order of paths, and one that fails is a row with its reason.
// Films are worked on in parallel, each worker holding one film's pixels; progress
// is told from one goroutine at a time, and the end of a context stops the rest.
//
// # Coordinates
//
// Points and outlines are in pixels of the film made ready (package source). Parts
// to be made black are in pixels as stored.
//
// # Use
//
//	ms, err := batch.Measure(ctx, paths, batch.MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
//	t, err := study.NewTrend(hip, ms)
package batch
