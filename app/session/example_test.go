package session_test

import (
	"fmt"
	"time"

	"linerwatch/app/session"
)

// The form in which implant and dates are asked is read as a whole; faults name
// their fields.
func ExampleHipForm_Hip() {
	form := session.HipForm{
		Patient: "K-17", Side: "left", Surgery: "2004-05-03", HeadMM: "2.8", PE: "XLPE", StartYears: "1",
	}
	_, faults := form.Hip(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	for _, f := range faults {
		fmt.Printf("%s: %s\n", f.Field, f.Message)
	}
	// Output:
	// head: a head diameter of 2.8 mm is outside 22 to 44 mm
}

// A camera that comes nearer keeps the film point under the pointer.
func ExampleCamera_ZoomedAt() {
	c := session.Camera{X: 100, Y: 50, Zoom: 0.5}
	fmt.Println(c.ToFilm(200, 80))
	fmt.Println(c.ZoomedAt(200, 80, 4).ToFilm(200, 80))
	// Output:
	// {500 210}
	// {500 210}
}
