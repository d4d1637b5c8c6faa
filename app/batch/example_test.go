package batch_test

import (
	"context"
	"fmt"

	"linerwatch/app/batch"
	"linerwatch/measure"
)

func ExampleMeasure() {
	opt := batch.MeasureOptions{HeadMM: 28, Side: measure.Right}
	ms, err := batch.Measure(context.Background(), []string{"nowhere.dcm"}, opt, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range ms {
		fmt.Println(m.Film.Path, m.Status)
	}
	// Output: nowhere.dcm failed
}
