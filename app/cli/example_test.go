package cli_test

import (
	"context"
	"fmt"
	"os"

	"linerwatch/app/cli"
)

func ExampleRun() {
	env := cli.Env{Stdout: os.Stdout, Stderr: os.Stdout}
	fmt.Println("exit code", cli.Run(context.Background(), []string{"fit", "testdata/wear.csv"}, env))
	fmt.Println("exit code", cli.Run(context.Background(), []string{"measure", "a.dcm"}, env))
	// Output:
	// hip     rows  in the line  rate mm/year (95 %)        bedding-in mm (95 %)    first to last mm/year
	// Q7-031     6            5  0.1000 (0.0873 to 0.1127)  0.202 (0.144 to 0.260)                  0.100
	// Q7-031: note: 1 of 6 rows lie before the steady state (from year 1) and are not in the line
	//
	// A measuring aid for research and follow-up, not cleared for diagnosis; a clinician reviews every reading; follow local rules.
	// exit code 0
	// linerwatch: measure: no head diameter; give the head's diameter: --head-mm 28
	// exit code 2
}
