package jpegls

import (
	"fmt"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

// Decode returns the samples of one frame, row by row.
func Decode(data []byte, want codec.Size) (pix []uint16, info codec.Info, err error) {
	if pix, info, err = decode(data, want); err != nil {
		return nil, codec.Info{}, fmt.Errorf("jpegls: %w", err)
	}
	return pix, info, nil
}

func decode(data []byte, want codec.Size) ([]uint16, codec.Info, error) {
	if err := want.Check(); err != nil {
		return nil, codec.Info{}, err
	}
	stream, err := t81.NewStream(data)
	if err != nil {
		return nil, codec.Info{}, err
	}
	var (
		frame  t81.Frame
		preset preset
	)
	for {
		marker, body, err := stream.Next()
		if err != nil {
			return nil, codec.Info{}, err
		}
		switch {
		case marker == t81.SOF55:
			err = frame.Read(body, want)
		case marker == t81.LSE:
			preset, err = readPreset(body)
		case marker == t81.DRI:
			var interval int
			if interval, err = t81.RestartInterval(body); err == nil && interval > 0 {
				err = codec.Unsupported("codec.restarts", "restart intervals")
			}
		case marker == t81.SOS:
			return decodeScan(stream, body, frame, preset)
		default:
			err = t81.Refuse(marker)
		}
		if err != nil {
			return nil, codec.Info{}, err
		}
	}
}

// decodeScan checks the scan header (T.87 C.2.3), decodes the scan and requires
// the end of the image after it.
func decodeScan(stream *t81.Stream, header []byte, frame t81.Frame, preset preset) ([]uint16, codec.Info, error) {
	scan, err := t81.ReadScan(header, frame)
	if err != nil {
		return nil, codec.Info{}, err
	}
	near, interleave := scan.Start, scan.End
	switch {
	case scan.DC != 0 || scan.AC != 0:
		return nil, codec.Info{}, codec.Unsupported("codec.mapping", "mapping table")
	case scan.High != 0 || scan.Low != 0:
		return nil, codec.Info{}, codec.Unsupported("codec.point", "point transform")
	case interleave > 2: // has no bearing on one component
		return nil, codec.Info{}, codec.Malformed("codec.interleave", "interleave mode %d", "Mode", interleave)
	}
	p, err := preset.complete(frame.Bits, near)
	if err != nil {
		return nil, codec.Info{}, err
	}
	rows, columns := frame.Lines, frame.PerLine
	if len(stream.Rest()) < rows/8 { // a row has one bit at least
		return nil, codec.Info{}, cut()
	}
	size := codec.Size{Rows: rows, Columns: columns, Bits: frame.Bits}
	if err := size.CheckData(len(stream.Rest())); err != nil {
		return nil, codec.Info{}, err
	}
	d := newDecoder(stream.Rest(), p)
	pix := codec.Room[uint16](rows * columns)
	used, err := d.scan(pix, columns)
	if err != nil {
		return nil, codec.Info{}, err
	}
	if err := stream.Finish(used); err != nil {
		return nil, codec.Info{}, err
	}
	return pix, codec.Info{Bits: frame.Bits, Lossy: near > 0}, nil
}

func cut() error {
	return codec.Malformed("codec.short", "data end before the last pixel")
}
