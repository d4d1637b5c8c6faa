package lossless

import (
	"fmt"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

// Decode returns the samples of one frame, row by row.
func Decode(data []byte, want codec.Size) (pix []uint16, info codec.Info, err error) {
	if pix, info, err = decode(data, want); err != nil {
		return nil, codec.Info{}, fmt.Errorf("lossless: %w", err)
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
		frame    t81.Frame
		tables   t81.Tables
		interval int
	)
	for {
		marker, body, err := stream.Next()
		if err != nil {
			return nil, codec.Info{}, err
		}
		switch {
		case marker == t81.SOF3:
			err = frame.Read(body, want)
		case marker == t81.DHT:
			err = tables.Read(body)
		case marker == t81.DRI:
			interval, err = t81.RestartInterval(body)
		case marker == t81.DQT: // has no use here, yet some files carry one
		case marker == t81.SOS:
			return decodeScan(stream, body, frame, &tables, interval)
		default:
			err = t81.Refuse(marker)
		}
		if err != nil {
			return nil, codec.Info{}, err
		}
	}
}

// decodeScan checks the scan header (Table B.3 for lossless), decodes the scan and
// requires the end of the image after it.
func decodeScan(stream *t81.Stream, header []byte, frame t81.Frame, tables *t81.Tables, interval int) ([]uint16, codec.Info, error) {
	scan, err := t81.ReadScan(header, frame)
	if err != nil {
		return nil, codec.Info{}, err
	}
	switch {
	case scan.Start < 1 || scan.Start > 7:
		return nil, codec.Info{}, codec.Malformed("codec.predictor", "predictor %d", "N", scan.Start)
	case scan.Low >= frame.Bits:
		return nil, codec.Info{}, codec.Malformed("codec.point-bits", "point transform of %d in %d bits", "Low", scan.Low, "Bits", frame.Bits)
	case scan.DC > 3 || tables.DC[scan.DC] == nil:
		return nil, codec.Info{}, codec.Malformed("codec.no-table", "code table %d is missing", "N", scan.DC)
	case interval%frame.PerLine != 0: // H.1.1
		return nil, codec.Info{}, codec.Malformed("codec.restart-rows", "restart interval of %d in rows of %d", "Interval", interval, "Columns", frame.PerLine)
	case len(stream.Rest()) < frame.Lines*frame.PerLine/8: // a code has one bit at least
		return nil, codec.Info{}, codec.Malformed("codec.short", "data end before the last pixel")
	}
	d := decoder{
		bits:    t81.NewBits(stream.Rest()),
		table:   tables.DC[scan.DC],
		undo:    predictors[scan.Start],
		origin:  1 << (frame.Bits - scan.Low - 1),
		columns: frame.PerLine,
		every:   interval / frame.PerLine,
	}
	pix := codec.Room[uint16](frame.Lines * frame.PerLine)
	used, err := d.scan(pix)
	if err != nil {
		return nil, codec.Info{}, err
	}
	if err := stream.Finish(used); err != nil {
		return nil, codec.Info{}, err
	}
	if err := expand(pix, frame.Bits, scan.Low); err != nil {
		return nil, codec.Info{}, err
	}
	return pix, codec.Info{Bits: frame.Bits, Lossy: scan.Low > 0}, nil
}

// expand undoes the point transform (H.1.2.1). A value beyond the precision
// shows that the data are damaged.
func expand(pix []uint16, bits, shift int) error {
	var seen uint16
	for _, v := range pix {
		seen |= v
	}
	if int(seen)>>(bits-shift) != 0 {
		return codec.Malformed("codec.sample", "sample beyond %d bits", "Bits", bits)
	}
	if shift > 0 {
		for i := range pix {
			pix[i] <<= shift
		}
	}
	return nil
}
