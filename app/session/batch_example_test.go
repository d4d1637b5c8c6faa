package session_test

import (
	"context"
	"fmt"

	"linerwatch/app/session"
	"linerwatch/measure"
)

func ExampleMeasure() {
	opt := session.MeasureOptions{HeadMM: 28, Side: measure.Right}
	ms, err := session.Measure(context.Background(), []string{"nowhere.dcm"}, opt, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range ms {
		fmt.Println(m.Film.Path, m.Status)
	}
	// Output: nowhere.dcm failed
}
