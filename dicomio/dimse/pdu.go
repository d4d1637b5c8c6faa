package dimse

import (
	"encoding/binary"
	"io"

	"linerwatch/dicomio"
)

// The protocol data units (PS3.8 section 9.3).
const (
	associateRQ = 0x01
	associateAC = 0x02
	associateRJ = 0x03
	dataTF      = 0x04
	releaseRQ   = 0x05
	releaseRP   = 0x06
	abortPDU    = 0x07

	tlsAlert = 0x15 // is no data unit: what a server that wants TLS says to whom it cannot follow
)

// mostPDU is how many bytes of a data unit are taken; it is announced to the other side.
const mostPDU = 1 << 17

// broken is the fault of what breaks the protocol.
func broken(what string) error {
	return dicomio.Refused("dimse.broken", "the archive breaks the DICOM protocol: %s", "What", what)
}

// readPDU reads a data unit into buf, which has room for any.
func readPDU(r io.Reader, buf []byte) (kind byte, body []byte, err error) {
	var head [6]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return 0, nil, err
	}
	n := binary.BigEndian.Uint32(head[2:])
	if head[0] == tlsAlert && head[1] == 3 { // and the major version of TLS (RFC 8446 5.1)
		return 0, nil, dicomio.Refused("dimse.wants-tls", "the archive answers by TLS and was asked without: it has to be set up as one over TLS")
	}
	if head[0] < associateRQ || head[0] > abortPDU {
		return 0, nil, broken("an unknown data unit")
	}
	if uint64(n) > uint64(len(buf)) {
		return 0, nil, broken("a data unit that is too long")
	}
	body = buf[:n]
	if _, err := io.ReadFull(r, body); err != nil {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return 0, nil, err
	}
	return head[0], body, nil
}

// appendPDU appends a data unit.
func appendPDU(b []byte, kind byte, body []byte) []byte {
	b = binary.BigEndian.AppendUint32(append(b, kind, 0), uint32(len(body)))
	return append(b, body...)
}

// part is a presentation data value: a piece of a command or of a data set (PS3.8 annex E).
type part struct {
	context       byte
	command, last bool
	data          []byte
}

// parts takes a P-DATA-TF apart.
func parts(body []byte) (out []part, err error) {
	for len(body) > 0 {
		if len(body) < 6 {
			return nil, broken("a value without its head")
		}
		n := binary.BigEndian.Uint32(body)
		if n < 2 || uint64(n) > uint64(len(body)-4) {
			return nil, broken("a value that is longer than its data unit")
		}
		v := body[4 : 4+n]
		out = append(out, part{v[0], v[1]&1 != 0, v[1]&2 != 0, v[2:]})
		body = body[4+n:]
	}
	return out, nil
}

// appendPart appends a P-DATA-TF of one value.
func appendPart(b []byte, p part) []byte {
	b = binary.BigEndian.AppendUint32(append(b, dataTF, 0), uint32(len(p.data)+6))
	b = binary.BigEndian.AppendUint32(b, uint32(len(p.data)+2))
	control := byte(0)
	if p.command {
		control |= 1
	}
	if p.last {
		control |= 2
	}
	return append(append(b, p.context, control), p.data...)
}
