// Command bench measures films unattended and compares with the truth.
//
//	go run ./measure/phantom/bench
//	go run ./measure/phantom/bench -class wire -hips 120 -seed 7 -v
//	go run ./measure/phantom/bench --films DIR --films OTHER --empty RADIOGRAPHS --json
//
// # Drawn films
//
// Package chance draws the hips: three films each, all that varies over wide
// ranges, one hip in four plain. -without leaves a style of processing out, for
// tuning; -only puts it on every film, for reporting that style alone. Tuning uses
// seeds below 1000; the seed of the report is another, and what it gives is not
// to be tuned on.
//
//	go run ./measure/phantom/bench -seed 5 -without multiscale,film    # tune
//	go run ./measure/phantom/bench -only multiscale                    # report
//
// One hip in -whole is rendered as whole films of 426 by 355 mm, the side left
// to the search; the others as windows of some 1000 pixels around the hip, the
// side told. The films without a hip replacement are of the kinds of package
// chance, a chest, and noise; each is searched as the radiographs of -empty are.
//
// # Given films
//
// A folder of -films holds one folder a hip, with its films (DICOM or any other
// format that the program opens) and a truth.json:
//
//	{"side": "left", "head_mm": 36, "cup": "shell", "films": [
//	  {"film": "film0.dcm", "date": "2007-01-22",
//	   "head": [563.57, 514.82, 152.41], "cup_arc": [564.01, 516.58, 220.80],
//	   "mm_per_px": 0.118105, "offset": [-0.0520, 0.2089], "roll_deg": -0.275}]}
//
// head is the circle (x, y, radius; pixels of the upright film, the corner of the
// first pixel being the origin) nearest to the head's exact silhouette; cup_arc
// that nearest to the part of the silhouette that the dome forms. For a cup of
// kind "wire" it has the projection of the ring's centre, which is not the centre
// of its ellipse. Without a cup_arc, cup stands for it. A film may have a cup_kind
// of its own. offset is head less cup in mm at the hip, lateral and superior, after
// the film is turned back by roll_deg, clockwise on the film. Every other text or
// number, of the hip or of the film, and every entry of an object "factors", is a
// factor that the report breaks down by.
//
// A film without a head, and every film of a hip whose kind is "blank" or whose
// films are empty, shows no replaced hip: what is found on it is a false alarm.
// The radiographs of a folder of -empty have none either and are searched for
// heads of 22.225 to 44 mm, of either side and of any.
//
// # Report
//
// A film is refused; or wrong (head centre off by over 1 mm, cup centre by over
// 1.5 mm, or another kind of cup); or a silent error (offset off by over 0.2 mm
// without a warning about an outline); or well. A refused film on which less than a
// fifth of the true outline of head or cup stands out against noise is counted
// apart, as hidden; that share is a factor too. Offsets are along the film's rows
// and columns and not corrected for the cone beam. Penetration is against the
// earliest film of the hip that was measured. For each kind of stated 95 %
// interval there is the share that held the truth with its own 95 % range, which
// allows for the films of a hip not being independent; -check fails where that
// range excludes 93 to 97 %. -brief prints what is counted over all films in one line, to
// compare programs by: .ci/vary tries other values of a constant so. -look writes each film as a picture, the true outlines
// dotted on it.
package main
