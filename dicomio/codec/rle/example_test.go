package rle_test

import (
	"encoding/binary"
	"fmt"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/rle"
)

func ExampleDecode() {
	frame := make([]byte, 64)
	binary.LittleEndian.PutUint32(frame, 1)      // one segment
	binary.LittleEndian.PutUint32(frame[4:], 64) // right after the header
	frame = append(frame, 0xFE, 200, 0x02, 10, 20, 30)

	pix, _, err := rle.Decode(frame, codec.Size{Rows: 2, Columns: 3, Bits: 8})
	fmt.Println(pix, err)
	// Output: [200 200 200 10 20 30] <nil>
}
