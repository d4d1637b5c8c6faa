package jpeg2000_test

import (
	"fmt"
	"os"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/jpeg2000"
)

func ExampleDecode() {
	frame, err := os.ReadFile("testdata/opj-12-97.j2k")
	if err != nil {
		fmt.Println(err)
		return
	}
	pix, info, err := jpeg2000.Decode(frame, codec.Size{Rows: 40, Columns: 33, Bits: 16})
	fmt.Println(len(pix), info.Bits, info.Lossy, err)
	// Output: 1320 12 true <nil>
}
