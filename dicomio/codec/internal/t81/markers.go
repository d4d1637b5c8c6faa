package t81

import (
	"encoding/binary"

	"linerwatch/dicomio/codec"
)

// Marker codes, the second bytes of T.81 Table B.1 and T.87 C.1.1.
const (
	SOF0  = 0xC0 // baseline sequential DCT
	SOF1  = 0xC1 // extended sequential DCT
	SOF2  = 0xC2 // progressive DCT
	SOF3  = 0xC3 // lossless
	DHT   = 0xC4
	RST0  = 0xD0
	RST7  = 0xD7
	SOI   = 0xD8
	EOI   = 0xD9
	SOS   = 0xDA
	DQT   = 0xDB
	DRI   = 0xDD
	APP0  = 0xE0
	APP15 = 0xEF
	SOF55 = 0xF7 // JPEG-LS
	LSE   = 0xF8 // JPEG-LS preset parameters
	COM   = 0xFE
)

// processes are the faults of frame headers and segments that stand for coding
// processes outside this program.
var processes = map[byte]error{
	SOF2:  codec.Unsupported("codec.progressive", "progressive DCT"),
	0xC5:  codec.Unsupported("codec.differential", "differential sequential DCT"),
	0xC6:  codec.Unsupported("codec.differential-progressive", "differential progressive DCT"),
	0xC7:  codec.Unsupported("codec.differential-lossless", "differential lossless"),
	0xC9:  codec.Unsupported("codec.arithmetic-sequential", "arithmetic sequential DCT"),
	0xCA:  codec.Unsupported("codec.arithmetic-progressive", "arithmetic progressive DCT"),
	0xCB:  codec.Unsupported("codec.arithmetic-lossless", "arithmetic lossless"),
	0xCC:  codec.Unsupported("codec.arithmetic", "arithmetic coding"),
	0xCD:  codec.Unsupported("codec.arithmetic-differential", "arithmetic differential DCT"),
	0xCE:  codec.Unsupported("codec.arithmetic-differential-progressive", "arithmetic differential progressive DCT"),
	0xCF:  codec.Unsupported("codec.arithmetic-differential-lossless", "arithmetic differential lossless"),
	0xDC:  codec.Unsupported("codec.lines", "number of lines after the scan"),
	0xDE:  codec.Unsupported("codec.hierarchical", "hierarchical coding"),
	0xDF:  codec.Unsupported("codec.hierarchical", "hierarchical coding"),
	SOF0:  codec.Unsupported("codec.baseline", "baseline DCT"),
	SOF1:  codec.Unsupported("codec.extended-sequential", "extended sequential DCT"),
	SOF3:  codec.Unsupported("codec.lossless-jpeg", "lossless JPEG"),
	SOF55: codec.Unsupported("codec.jpeg-ls", "JPEG-LS"),
}

// Stream walks the marker segments of a codestream.
type Stream struct {
	data []byte
	pos  int
}

// NewStream begins after the start-of-image marker.
func NewStream(data []byte) (*Stream, error) {
	if len(data) < 2 || data[0] != 0xFF || data[1] != SOI {
		return nil, codec.Malformed("codec.no-start", "no start-of-image marker")
	}
	return &Stream{data: data, pos: 2}, nil
}

// Marker reads one marker, passing over fill bytes (B.1.1.2).
func (s *Stream) Marker() (byte, error) {
	if s.pos >= len(s.data) {
		return 0, codec.Malformed("codec.no-end", "data end before the end-of-image marker")
	}
	if s.data[s.pos] != 0xFF {
		return 0, codec.Malformed("codec.no-marker", "byte %d: no marker where one is due", "Byte", s.pos)
	}
	for s.pos < len(s.data) && s.data[s.pos] == 0xFF {
		s.pos++
	}
	if s.pos == len(s.data) || s.data[s.pos] == 0 {
		return 0, codec.Malformed("codec.no-marker", "byte %d: no marker where one is due", "Byte", s.pos)
	}
	s.pos++
	return s.data[s.pos-1], nil
}

// Next reads one marker and its segment's parameters. A marker that stands
// alone has no place between segments.
func (s *Stream) Next() (marker byte, body []byte, err error) {
	if marker, err = s.Marker(); err != nil {
		return 0, nil, err
	}
	if marker == EOI {
		return 0, nil, codec.Malformed("codec.no-scan", "image ends before its scan")
	}
	if marker <= 0xBF || marker >= RST0 && marker <= SOI {
		return 0, nil, codec.Malformed("codec.stray", "byte %d: stray marker FF%s", "Byte", s.pos, "Marker", codec.Hex(marker, 2))
	}
	if len(s.data)-s.pos < 2 {
		return 0, nil, codec.Malformed("codec.segment-cut", "segment FF%s is cut", "Marker", codec.Hex(marker, 2))
	}
	n := int(binary.BigEndian.Uint16(s.data[s.pos:]))
	if n < 2 || n > len(s.data)-s.pos {
		return 0, nil, codec.Malformed("codec.segment-long", "segment FF%s of %d bytes runs past the end", "Marker", codec.Hex(marker, 2), "Bytes", n)
	}
	body = s.data[s.pos+2 : s.pos+n]
	s.pos += n
	return marker, body, nil
}

// Rest is the data after the last segment read: a scan's, after its header.
func (s *Stream) Rest() []byte { return s.data[s.pos:] }

// Pass steps over n bytes of a scan and tells whether the end-of-image marker
// follows, which it takes.
func (s *Stream) Pass(n int) (end bool) {
	s.pos += n
	before := s.pos
	if marker, err := s.Marker(); err == nil && marker == EOI {
		return true
	}
	s.pos = before
	return false
}

// Finish reads on n bytes after the last segment and requires the end-of-image
// marker there, allowing comments and application data before it.
func (s *Stream) Finish(n int) error {
	s.pos += n
	for {
		before := s.pos
		marker, err := s.Marker()
		switch {
		case err != nil:
			return err
		case marker == EOI:
			return nil
		case marker == SOS || marker == DHT || marker == DQT || marker == LSE:
			return codec.Unsupported("codec.scans", "more than one scan")
		case marker != COM && (marker < APP0 || marker > APP15):
			return Refuse(marker)
		}
		s.pos = before
		if _, _, err = s.Next(); err != nil {
			return err
		}
	}
}

// Refuse is the error for a segment that a decoder does not know: nil for
// comments and application data, which it passes over.
func Refuse(marker byte) error {
	if err, ok := processes[marker]; ok {
		return err
	}
	if marker == COM || marker >= APP0 && marker <= APP15 {
		return nil
	}
	return codec.Malformed("codec.unknown-marker", "unknown marker FF%s", "Marker", codec.Hex(marker, 2))
}

// RestartInterval reads a DRI segment (B.2.4.4): the number of minimum coded
// units between restart markers, 0 for none.
func RestartInterval(body []byte) (int, error) {
	if len(body) != 2 {
		return 0, codec.Malformed("codec.restart-bytes", "restart interval segment of %d bytes", "Bytes", len(body))
	}
	return int(binary.BigEndian.Uint16(body)), nil
}
