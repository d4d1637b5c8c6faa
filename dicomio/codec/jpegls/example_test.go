package jpegls_test

import (
	"fmt"
	"os"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/jpegls"
)

func ExampleDecode() {
	frame, err := os.ReadFile("testdata/dcmtk-12-near3.jls")
	if err != nil {
		fmt.Println(err)
		return
	}
	pix, info, err := jpegls.Decode(frame, codec.Size{Rows: 40, Columns: 33, Bits: 16})
	fmt.Println(len(pix), info.Bits, info.Lossy, err)
	// Output: 1320 12 true <nil>
}
