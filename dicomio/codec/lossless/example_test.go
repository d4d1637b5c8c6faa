package lossless_test

import (
	"fmt"
	"os"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/lossless"
)

func ExampleDecode() {
	frame, err := os.ReadFile("testdata/gdcm-16-sv1.jpg")
	if err != nil {
		fmt.Println(err)
		return
	}
	pix, info, err := lossless.Decode(frame, codec.Size{Rows: 40, Columns: 33, Bits: 16})
	fmt.Println(len(pix), pix[:3], info.Bits, err)

	_, _, err = lossless.Decode(frame[:1000], codec.Size{Rows: 40, Columns: 33, Bits: 16})
	fmt.Println(err)
	// Output:
	// 1320 [0 13106 13938] 16 <nil>
	// lossless: data end before the last pixel: malformed
}
