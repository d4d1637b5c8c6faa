package jpeg

import (
	"bytes"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

// progressive gathers the coefficients of a frame that comes in several scans
// (T.81 Annex G): some of the coefficients, or their upper bits first.
type progressive struct {
	coefficients []int16         // 64 of each block, row by row, in zig-zag order
	left         [blockSize]int8 // bits of each coefficient that are still to come; -1: all
	quantizer    *[blockSize]int32
}

// Scans counts the scan headers of a codestream, no further than one beyond
// codec.MaxScans. In coded data FF is followed by a zero or by a restart marker.
func Scans(data []byte) (n int) {
	for n <= codec.MaxScans {
		i := bytes.Index(data, []byte{0xFF, t81.SOS})
		if i < 0 {
			break
		}
		n, data = n+1, data[i+2:]
	}
	return n
}

func newProgressive() *progressive {
	p := &progressive{}
	for k := range p.left {
		p.left[k] = -1
	}
	return p
}

// admit checks a scan header (G.1.1.1.1): every bit of a coefficient comes once, in
// order, and DC first.
func (p *progressive) admit(s t81.Scan) error {
	switch {
	case s.End >= blockSize || s.Start > s.End || s.Start == 0 && s.End != 0 || s.Low > 13 || s.High > 0 && s.High != s.Low+1:
		return codec.Malformed("codec.scan-bits", "scan of coefficients %d to %d, bits %d to %d", "From", s.Start, "To", s.End, "High", s.High, "Low", s.Low)
	case s.Start > 0 && p.left[0] < 0:
		return codec.Malformed("codec.scan-early", "scan of coefficients %d to %d before the first", "From", s.Start, "To", s.End)
	}
	for k := s.Start; k <= s.End; k++ {
		if due := s.High > 0; due != (p.left[k] > 0) || due && int(p.left[k]) != s.High {
			return codec.Malformed("codec.bits-due", "coefficient %d: bits %d to %d where others are due", "N", k, "High", s.High, "Low", s.Low)
		}
		p.left[k] = int8(s.Low)
	}
	return nil
}

// refine takes one scan, and tells whether it was the last.
func (im *image) refine(stream *t81.Stream, header []byte) (end bool, err error) {
	s, err := t81.ReadScan(header, im.frame)
	if err != nil {
		return false, err
	}
	p := im.progressive
	if err := p.admit(s); err != nil {
		return false, err
	}
	d := &decoder{bits: t81.NewBits(stream.Rest()), interval: im.interval}
	if s.Start == 0 && s.High == 0 {
		d.dc, err = table(im.tables.DC, s.DC)
	} else if s.Start > 0 {
		d.ac, err = table(im.tables.AC, s.AC)
	}
	if err == nil && p.coefficients == nil {
		err = im.begin(stream.Rest())
	}
	if err != nil {
		return false, err
	}
	across := (im.frame.PerLine + side - 1) / side
	used, err := d.blocks(im.frame.Lines, im.frame.PerLine, func(y, x int) error {
		at := (y/side*across + x/side) * blockSize
		return d.part(p.coefficients[at:at+blockSize], s)
	})
	if err != nil {
		return false, err
	}
	return stream.Pass(used), nil
}

// begin makes room for a frame, if the data can hold it.
func (im *image) begin(data []byte) error {
	if Scans(data) >= codec.MaxScans { // besides the one whose data begin
		return codec.Unsupported("codec.many-scans", "more than %d scans", "Most", codec.MaxScans)
	}
	rows, columns := im.frame.Lines, im.frame.PerLine
	size := codec.Size{Rows: rows, Columns: columns, Bits: im.frame.Bits}
	if err := size.CheckData(len(data)); err != nil {
		return err
	}
	blocks := ((rows + side - 1) / side) * ((columns + side - 1) / side)
	if len(data) < blocks/8 { // each has a bit at least of its DC coefficient
		return codec.Malformed("codec.short", "data end before the last pixel")
	}
	p := im.progressive
	if p.quantizer = im.quantizer[im.frame.Quantizer]; p.quantizer == nil {
		return codec.Malformed("codec.no-quantizer", "quantization table %d is missing", "N", im.frame.Quantizer)
	}
	p.coefficients = make([]int16, blocks*blockSize)
	return nil
}

func table(tables [4]*t81.Huffman, i int) (*t81.Huffman, error) {
	if i > 3 || tables[i] == nil {
		return nil, codec.Malformed("codec.no-table", "code table %d is missing", "N", i)
	}
	return tables[i], nil
}

// part decodes what one scan says of one block.
func (d *decoder) part(c []int16, s t81.Scan) error {
	switch {
	case s.Start == 0 && s.High == 0: // G.1.2.1
		category := d.symbol(d.dc)
		if category > 15 {
			return codec.Malformed("codec.no-dc", "no such DC code")
		}
		d.previous += d.receive(category)
		c[0] = int16(d.previous << s.Low)
	case s.Start == 0:
		c[0] |= int16(d.bit() << s.Low)
	case s.High == 0:
		return d.first(c, s)
	default:
		return d.further(c, s)
	}
	return nil
}

// first decodes the upper bits of a band of coefficients (G.1.2.2).
func (d *decoder) first(c []int16, s t81.Scan) error {
	if d.ended > 0 {
		d.ended--
		return nil
	}
	for k := s.Start; k <= s.End; k++ {
		symbol := d.symbol(d.ac)
		if symbol == noCode {
			return codec.Malformed("codec.no-ac", "no such AC code")
		}
		zeros, category := int(symbol>>4), symbol&15
		if category == 0 && zeros < 15 {
			d.ended = d.run(zeros) - 1
			return nil
		}
		if k += zeros; k > s.End {
			return codec.Malformed("codec.band", "coefficient %d of a scan up to %d", "N", k, "To", s.End)
		}
		c[k] = int16(d.receive(category) << s.Low)
	}
	return nil
}

// further decodes one more bit of a band of coefficients (G.1.2.3): of those that
// are not zero, and of the zeros in between by their number.
func (d *decoder) further(c []int16, s t81.Scan) error {
	k, one := s.Start, int16(1)<<s.Low
	for k <= s.End && d.ended == 0 {
		symbol := d.symbol(d.ac)
		zeros, category, value := int(symbol>>4), symbol&15, int16(0)
		switch {
		case symbol == noCode || category > 1:
			return codec.Malformed("codec.no-ac", "no such AC code")
		case category == 1:
			if value = one; d.bit() == 0 {
				value = -one
			}
		case zeros < 15:
			d.ended = d.run(zeros)
			continue
		}
		for ; k <= s.End; k++ {
			if c[k] == 0 {
				if zeros == 0 {
					break
				}
				zeros--
				continue
			}
			d.correct(&c[k], one)
		}
		if k > s.End && value != 0 {
			return codec.Malformed("codec.band", "coefficient %d of a scan up to %d", "N", k, "To", s.End)
		}
		if value != 0 {
			c[k] = value
		}
		k++
	}
	if d.ended > 0 {
		for ; k <= s.End; k++ {
			if c[k] != 0 {
				d.correct(&c[k], one)
			}
		}
		d.ended--
	}
	return nil
}

// correct reads one more bit of a coefficient.
func (d *decoder) correct(c *int16, one int16) {
	switch {
	case d.bit() == 0:
	case *c > 0:
		*c += one
	default:
		*c -= one
	}
}

// run reads a number of blocks of a length in bits (Table G.1).
func (d *decoder) run(length int) (n int) {
	n = 1
	for range length {
		n = n<<1 | int(d.bit())
	}
	return n
}

// bit reads one bit.
func (d *decoder) bit() int32 {
	if d.n == 0 {
		d.acc, d.n = d.bits.Fill(d.acc, d.n)
	}
	v := int32(d.acc >> 63)
	d.acc <<= 1
	d.n--
	return v
}

// assemble makes the image of the coefficients, every bit of which must have come.
func (im *image) assemble() ([]uint16, codec.Info, error) {
	p := im.progressive
	for k, left := range p.left {
		if left != 0 {
			return nil, codec.Info{}, codec.Malformed("codec.bits-missing", "image ends before all bits of coefficient %d have come", "N", k)
		}
	}
	rows, columns := im.frame.Lines, im.frame.PerLine
	d := &decoder{precision: im.frame.Bits}
	pix, c := codec.Room[uint16](rows*columns), p.coefficients
	for y := 0; y < rows; y += side {
		for x := 0; x < columns; x, c = x+side, c[blockSize:] {
			var b block
			for k, v := range c[:blockSize] {
				b[zigzag[k]] = int32(v) * p.quantizer[k]
			}
			d.show(pix, &b, y, x, rows, columns)
		}
	}
	return pix, codec.Info{Bits: im.frame.Bits, Lossy: true, Progressive: true}, nil
}
