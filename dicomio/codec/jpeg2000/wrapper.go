package jpeg2000

import (
	"bytes"
	"encoding/binary"

	"linerwatch/dicomio/codec"
)

// signature is the first box of a JP2 file (T.800 I.5.1).
var signature = []byte("\x00\x00\x00\x0CjP  \r\n\x87\n")

// unwrap finds the codestream in a JP2 file (Annex I). DICOM has bare codestreams
// (PS3.5 A.4.4), yet files with the wrapper are seen; nothing in it bears on the
// stored values of one component.
func unwrap(data []byte) ([]byte, error) {
	if !bytes.HasPrefix(data, signature) {
		return data, nil
	}
	for len(data) >= 8 { // boxes: length and type
		length, kind, head := uint64(binary.BigEndian.Uint32(data)), string(data[4:8]), uint64(8)
		switch {
		case length == 0: // to the end
			length = uint64(len(data))
		case length == 1 && len(data) >= 16:
			length, head = binary.BigEndian.Uint64(data[8:]), 16
		}
		if length < head || length > uint64(len(data)) {
			return nil, codec.Malformed("codec.box", "box of %d bytes runs past the end", "Bytes", length)
		}
		if kind == "jp2c" {
			return data[head:length], nil
		}
		data = data[length:]
	}
	return nil, codec.Malformed("codec.no-codestream", "no codestream in the file wrapper")
}
