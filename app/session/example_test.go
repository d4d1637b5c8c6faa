package session_test

import (
	"fmt"
	"time"

	"linerwatch/app/session"
)

// The form in which a hip is asked is read as a whole; faults name their fields.
func ExampleHipForm_Read() {
	s := session.New(session.Config{Post: func(f func()) { f() }})
	form, err := s.Form()
	if err != nil {
		fmt.Println(err)
	}
	for field, text := range map[string]string{"patient": "K-17", "side": "left", "surgery": "2004-05-03", "head_mm": "2.8", "pe": "XLPE"} {
		form.Enter(field, text)
	}
	_, faults := form.Read(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	for _, f := range faults {
		fmt.Printf("%s: %s\n", f.Field, f.Message)
	}
	// Output:
	// head_mm: a head diameter of 2.8 mm is outside 22 to 44 mm
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
