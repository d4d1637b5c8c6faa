// Package cli is the command line of linerwatch, with the commands measure, trend,
// film, study, results, report, deidentify, fetch, archive, fit, agree, demo, help, version. Results go to stdout and
// everything else to stderr. Errors are one line, begin with "linerwatch: " and end
// with what to do.
//
// The exit code is 0 where all was done, 1 where a film or study failed (the
// results of the others are still printed) and 2 for wrong usage.
//
// The scripts in testdata are the specification; the package's test runs them.
//
//	code := cli.Run(ctx, os.Args[1:], cli.Env{Stdout: os.Stdout, Stderr: os.Stderr})
package cli
