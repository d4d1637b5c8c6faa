// Package dataset writes a study for analysis elsewhere: a data package by the Data Package
// and Table Schema standards, version 1 (specs.frictionlessdata.io), which is a folder with
// a table a kind of thing in CSV, a codebook, datapackage.json, and scripts that load the
// tables with types, labels and missing values into R, Python, SPSS and Stata.
//
// What a column is stands once, in the column itself: header, codebook, datapackage.json and
// scripts are made from it. Lengths are in mm at the level of the hip, times in years of
// 365.25 days since surgery. NA stands for what is not known or does not apply. A text that a
// spreadsheet would run as a formula, and the text NA, have an apostrophe before them
// (study.GuardText), which the scripts take off.
//
// Hips are handed over one at a time and written as they come, so that a study of any size
// takes little memory. The same study gives the same bytes: no clock is asked.
//
//	e, err := dataset.New(folder.Create, dataset.Options{Whose: "R1"})
//	if err != nil {
//		return err
//	}
//	err = errors.Join(store.Records(ctx, e.Add), e.Close())
package dataset
