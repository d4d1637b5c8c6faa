package result_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
)

// A report of a head's outline, written and read again.
func ExampleReport() {
	header := dicomio.Item{}
	header.SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.1.1")
	header.SetText(0x00080018, "UI", "2.25.1")
	header.SetText(0x0020000D, "UI", "2.25.2")
	header.SetText(0x0020000E, "UI", "2.25.3")
	film, err := result.FilmOf(header, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	item, err := result.Report{
		Film: film, Hip: "H1", Side: "left", Reading: "r1", Read: time.Date(2026, 11, 3, 9, 30, 0, 0, time.UTC),
		Groups: []result.Group{{Name: "head", Finding: result.Head, Outline: result.Circle(640.5, 625.25, 109), Numbers: []result.Number{
			{Of: result.Scale, Value: 0.1284, SE: 0.0004, Unit: result.PerPixel, Method: result.ByHead}}}},
		Source: result.Source{Program: "Linerwatch", Version: "1", Reader: "R1", Made: time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)},
	}.Item()
	if err != nil {
		fmt.Println(err)
		return
	}
	var b bytes.Buffer
	path := filepath.Join(os.TempDir(), "example-report.dcm")
	if err := item.Write(&b); err != nil || os.WriteFile(path, b.Bytes(), 0o600) != nil {
		fmt.Println("not written", err)
		return
	}
	defer func() { _ = os.Remove(path) }()
	if item, err = dicomio.ReadItem(path); err != nil {
		fmt.Println(err)
		return
	}
	r, err := result.ReadReport(item)
	g := r.Groups[0]
	fmt.Println(r.Hip, r.Side, g.Finding.Meaning, *g.Outline, err)
	fmt.Println(g.Numbers[0].Of.Meaning, g.Numbers[0].Value, "±", g.Numbers[0].SE, g.Numbers[0].Unit.Value)
	// Output:
	// H1 left Femoral Head Ball Component {640.5 625.25 109 109 0} <nil>
	// Scale at the level of the hip 0.1284 ± 0.0004 mm/{pixels}
}
