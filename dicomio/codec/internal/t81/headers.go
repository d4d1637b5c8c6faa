package t81

import (
	"encoding/binary"

	"linerwatch/dicomio/codec"
)

// Frame is a frame header of one component (B.2.2).
type Frame struct {
	Bits        int // sample precision P
	Lines       int // Y
	PerLine     int // samples per line X
	ComponentID byte
	Quantizer   int // Tq
}

// Read reads a frame header, of which there is one, and checks it against the
// declared size.
func (f *Frame) Read(body []byte, want codec.Size) error {
	if f.Bits > 0 {
		return codec.Malformed("codec.second-frame", "second frame header")
	}
	frame, err := readFrame(body, want)
	if err == nil {
		*f = frame
	}
	return err
}

func readFrame(body []byte, want codec.Size) (Frame, error) {
	if len(body) < 6 {
		return Frame{}, codec.Malformed("codec.frame-cut", "frame header is cut")
	}
	f := Frame{
		Bits:    int(body[0]),
		Lines:   int(binary.BigEndian.Uint16(body[1:])),
		PerLine: int(binary.BigEndian.Uint16(body[3:])),
	}
	switch n := int(body[5]); {
	case n != 1 && len(body) == 6+3*n && n > 0:
		return Frame{}, codec.Unsupported("codec.components", "%d components", "N", n)
	case n != 1 || len(body) != 9:
		return Frame{}, codec.Malformed("codec.frame-bytes", "frame header of %d bytes", "Bytes", len(body))
	case f.Lines == 0:
		return Frame{}, processes[0xDC]
	case f.Lines != want.Rows || f.PerLine != want.Columns:
		return Frame{}, codec.Malformed("codec.other-size", "%d x %d pixels where %d x %d are declared", "Columns", f.PerLine, "Rows", f.Lines, "WantColumns", want.Columns, "WantRows", want.Rows)
	case f.Bits < 2 || f.Bits > 16:
		return Frame{}, codec.Malformed("codec.precision", "precision of %d bits", "Bits", f.Bits)
	case f.Bits > want.Bits:
		return Frame{}, codec.Malformed("codec.other-precision", "precision of %d bits where %d are declared", "Bits", f.Bits, "Want", want.Bits)
	}
	f.ComponentID, f.Quantizer = body[6], int(body[8])
	if f.Quantizer > 3 {
		return Frame{}, codec.Malformed("codec.quantizer", "quantization table %d", "N", f.Quantizer)
	}
	return f, nil
}

// Scan is a scan header of one component (B.2.3).
type Scan struct {
	DC, AC     int // Huffman table selectors Td and Ta
	Start, End int // Ss and Se; a predictor in lossless, NEAR in JPEG-LS
	High, Low  int // Ah and Al; Low is the point transform
}

// ReadScan reads the header of the scan of a frame's only component.
func ReadScan(body []byte, f Frame) (Scan, error) {
	if f.Bits == 0 {
		return Scan{}, codec.Malformed("codec.early-scan", "scan before the frame header")
	}
	if len(body) != 6 || body[0] != 1 || body[1] != f.ComponentID {
		return Scan{}, codec.Malformed("codec.scan-header", "scan header does not fit the frame's one component")
	}
	s := Scan{
		DC: int(body[2] >> 4), AC: int(body[2] & 15),
		Start: int(body[3]), End: int(body[4]),
		High: int(body[5] >> 4), Low: int(body[5] & 15),
	}
	return s, nil
}
