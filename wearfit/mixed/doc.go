// Package mixed is the linear mixed model of a cohort: penetration over time of
// many hips, each with an intercept and a rate of its own, hips within patients.
//
// Units are those of package wearfit: years, millimetres, millimetres a year.
//
// Fit maximises the restricted or the whole likelihood. Model.Combine is an estimate
// with Satterthwaite's degrees of freedom, LikelihoodRatio compares two models,
// BootstrapRatio does so by drawn cohorts, NewKenward gives the estimates and F tests of
// small cohorts. Model.Shrink is a hip's own line drawn towards its group's,
// Model.Integrate the same where hips are few. EachRate is the simple comparison by each
// hip's own line.
//
// # References
//
//   - Bates D, Mächler M, Bolker B, Walker S. Fitting linear mixed-effects models
//     using lme4. J Stat Softw 2015;67(1).
//
// Those of single methods stand beside them.
package mixed
