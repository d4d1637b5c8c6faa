package study

import "linerwatch/assets/texts"

// Convention is the code of how a number, its interval or its p was made.
type Convention string

// The conventions of liners. Patients says that the error is between patients, some of whom
// have more than one liner.
const (
	ByLogLog         Convention = "log-log"
	ByLogLogPatients Convention = "log-log-patients"
	ByExact          Convention = "exact"
	ByExactPatients  Convention = "exact-patients"
	ByMedian         Convention = "brookmeyer-crowley"
	ByLogRank        Convention = "log-rank"
	ByGray           Convention = "gray"
	ByEfron          Convention = "efron"
	ByEfronPatients  Convention = "efron-patients"
	ByLikelihood     Convention = "likelihood-ratio"
	ByWald           Convention = "wald"
	ByWaldPatients   Convention = "wald-patients"
	ByScore          Convention = "score"
	ByScorePatients  Convention = "score-patients"
	ByProportional   Convention = "grambsch-therneau"
)

// The conventions of one hip's models.
const (
	BySteady   Convention = "steady"
	ByProfileF Convention = "profile-f"
)

// The conventions of agreement between readers.
const (
	ByChiSquare   Convention = "chi-square"
	ByNoncentral  Convention = "noncentral-t"
	ByMOVER       Convention = "mover"
	ByFisher      Convention = "fisher-z"
	ByMcGrawWong  Convention = "mcgraw-wong"
	ByLargeSample Convention = "large-sample"
)

// The conventions of cohorts.
const (
	ByKenwardRoger   Convention = "kenward-roger"
	BySatterthwaite  Convention = "satterthwaite"
	ByRatioTest      Convention = "ratio-test"
	ByMixture        Convention = "ratio-mixture"
	ByDrawnCohorts   Convention = "drawn-cohorts"
	ByREML           Convention = "reml"
	ByML             Convention = "ml"
	ByIntegration    Convention = "integrated"
	ByKnownVariances Convention = "known-variances"
	ByStudentT       Convention = "multivariate-t"
	ByRatio          Convention = "error-ratio"
	ByWelch          Convention = "welch"
	ByRanks          Convention = "ranks"
	ByOwnLines       Convention = "own-lines"
	BySettling       Convention = "settling"
	ByProfile        Convention = "profile"
	ByCourse         Convention = "course"
)

// Words say how it works, with its source.
func (c Convention) Words() string { return texts.Say("convention."+string(c), nil) }
