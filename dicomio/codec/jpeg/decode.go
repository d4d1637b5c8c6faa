package jpeg

import (
	"encoding/binary"
	"fmt"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

// Decode returns the samples of one frame, row by row.
func Decode(data []byte, want codec.Size) (pix []uint16, info codec.Info, err error) {
	if pix, info, err = decode(data, want); err != nil {
		return nil, codec.Info{}, fmt.Errorf("jpeg: %w", err)
	}
	return pix, info, nil
}

// image gathers what the segments before the scan say.
type image struct {
	frame     t81.Frame
	tables    t81.Tables
	quantizer [4]*[blockSize]int32 // in zig-zag order
	interval  int

	progressive *progressive // of a frame in several scans
}

func decode(data []byte, want codec.Size) ([]uint16, codec.Info, error) {
	if err := want.Check(); err != nil {
		return nil, codec.Info{}, err
	}
	stream, err := t81.NewStream(data)
	if err != nil {
		return nil, codec.Info{}, err
	}
	var im image
	for {
		marker, body, err := stream.Next()
		if err != nil {
			return nil, codec.Info{}, err
		}
		if marker == t81.SOS && im.progressive == nil {
			return im.decodeScan(stream, body)
		}
		if marker == t81.SOS {
			end, err := im.refine(stream, body)
			if err != nil {
				return nil, codec.Info{}, err
			}
			if end {
				return im.assemble()
			}
			continue
		}
		if err := im.segment(marker, body, want); err != nil {
			return nil, codec.Info{}, err
		}
	}
}

// segment reads one marker segment before the scan.
func (im *image) segment(marker byte, body []byte, want codec.Size) (err error) {
	switch {
	case marker == t81.SOF0 || marker == t81.SOF1 || marker == t81.SOF2:
		if err = im.frame.Read(body, want); err != nil {
			return err
		}
		if bits := im.frame.Bits; bits != 8 && (bits != 12 || marker == t81.SOF0) { // Table B.2
			return codec.Malformed("codec.dct-bits", "DCT of %d bits", "Bits", bits)
		}
		if marker == t81.SOF2 {
			im.progressive = newProgressive()
		}
		return nil
	case marker == t81.DHT:
		return im.tables.Read(body)
	case marker == t81.DQT:
		return im.readQuantizers(body)
	case marker == t81.DRI:
		im.interval, err = t81.RestartInterval(body)
		return err
	}
	return t81.Refuse(marker)
}

// readQuantizers reads a DQT segment (B.2.4.1).
func (im *image) readQuantizers(body []byte) error {
	for len(body) > 0 {
		wide, slot := int(body[0]>>4), int(body[0]&15)
		n := blockSize * (1 + wide)
		if wide > 1 || slot > 3 || len(body)-1 < n {
			return codec.Malformed("codec.quantizer-bytes", "quantization table %s of %d bytes", "Table", codec.Hex(body[0], 2), "Bytes", len(body)-1)
		}
		q := new([blockSize]int32)
		for k := range q {
			if wide == 0 {
				q[k] = int32(body[1+k])
			} else {
				q[k] = int32(binary.BigEndian.Uint16(body[1+2*k:]))
			}
		}
		im.quantizer[slot], body = q, body[1+n:]
	}
	return nil
}

// decodeScan checks the scan header (Table B.3 for sequential DCT), decodes the
// scan and requires the end of the image after it. Some encoders leave the last
// coefficient at 0 instead of 63, which has no other meaning here.
func (im *image) decodeScan(stream *t81.Stream, header []byte) ([]uint16, codec.Info, error) {
	scan, err := t81.ReadScan(header, im.frame)
	if err != nil {
		return nil, codec.Info{}, err
	}
	switch {
	case scan.Start != 0 || scan.End != blockSize-1 && scan.End != 0 || scan.High != 0 || scan.Low != 0:
		return nil, codec.Info{}, codec.Malformed("codec.coefficients", "scan of coefficients %d to %d only", "From", scan.Start, "To", scan.End)
	case scan.DC > 3 || scan.AC > 3 || im.tables.DC[scan.DC] == nil || im.tables.AC[scan.AC] == nil:
		return nil, codec.Info{}, codec.Malformed("codec.no-tables", "code table %d or %d is missing", "DC", scan.DC, "AC", scan.AC)
	case im.quantizer[im.frame.Quantizer] == nil:
		return nil, codec.Info{}, codec.Malformed("codec.no-quantizer", "quantization table %d is missing", "N", im.frame.Quantizer)
	}
	rows, columns := im.frame.Lines, im.frame.PerLine
	blocks := ((rows + 7) / 8) * ((columns + 7) / 8)
	if len(stream.Rest()) < blocks/4 { // two codes of one bit for a block at least
		return nil, codec.Info{}, codec.Malformed("codec.short", "data end before the last pixel")
	}
	d := decoder{
		bits:      t81.NewBits(stream.Rest()),
		dc:        im.tables.DC[scan.DC],
		ac:        im.tables.AC[scan.AC],
		quantizer: im.quantizer[im.frame.Quantizer],
		precision: im.frame.Bits,
		interval:  im.interval,
	}
	pix := codec.Room[uint16](rows * columns)
	used, err := d.scan(pix, rows, columns)
	if err != nil {
		return nil, codec.Info{}, err
	}
	if err := stream.Finish(used); err != nil {
		return nil, codec.Info{}, err
	}
	return pix, codec.Info{Bits: im.frame.Bits, Lossy: true}, nil
}
