// Package survive follows liners to revision: the share that is not revised, the
// share that each competing event takes, and what it depends on.
//
// # Liners
//
// A Liner was observed for some years, from 0 on, and something ended that: it was
// still in place, was revised, or another event came first. A liner that leaves at
// the time of a revision was at risk of it. Liners of one patient may fail alike:
// where Patient says so, KaplanMeier, AalenJohansen and Cox take their errors between
// patients. LogRank and Gray count liners; Cox with a column for the group is the
// comparison that counts patients.
//
// # Methods
//
// KaplanMeier takes other events as the end of the observation, AalenJohansen as
// what competes. Intervals of both are log-log, and exact where nobody or everybody
// had the event; Share.Method tells which. LogRank and Gray compare groups, by the
// hazard of a revision and by its cumulative incidence. Cox is a regression of the
// hazard on columns such as a wear rate, with Efron's ties; Hazards.Proportional tests
// what it rests on.
//
// A column counts from year 0 on. A rate that was measured later than that is known
// too early: let years be counted from the film on that completed it, and leave out
// liners revised before (Anderson JR, Cain KC, Gelber RD. J Clin Oncol 1983;1:710-719).
// Its own error draws the hazard ratio towards 1 (Prentice RL. Biometrika
// 1982;69:331-342).
//
// The references of single methods stand beside them.
//
// # Use
//
//	c, err := survive.KaplanMeier(liners)
//	if err != nil {
//		return err
//	}
//	s := c.At(10)
//	fmt.Println(s.Value, s.Interval(0.95), s.AtRisk)
package survive
