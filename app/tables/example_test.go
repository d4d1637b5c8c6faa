package tables_test

import (
	"fmt"
	"strings"

	"linerwatch/app/study"
	"linerwatch/app/tables"
)

func ExampleRates() {
	table := "hip,years,penetration_mm\n" +
		"Q7-031,0.1,0\nQ7-031,1,0.3\nQ7-031,2,0.4\nQ7-031,4,0.6\n" +
		"Q7-058,1,zero\n"
	rates, bad, err := tables.Rates(strings.NewReader(table), nil, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.2f mm/year from %d of %d rows\n", rates[0].Hip, rates[0].Fit.Rate, rates[0].Used, rates[0].N)
	fmt.Println(study.Told(bad[0]))
	// Output:
	// Q7-031: 0.10 mm/year from 3 of 4 rows
	// line 6, column penetration_mm: "zero" is not a number
}
