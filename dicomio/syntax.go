package dicomio

import (
	"strings"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/jpeg"
	"linerwatch/dicomio/codec/jpeg2000"
	"linerwatch/dicomio/codec/jpegls"
	"linerwatch/dicomio/codec/lossless"
	"linerwatch/dicomio/codec/rle"
)

// syntax is a transfer syntax: how a DICOM file is encoded (PS3.5 section 10, PS3.6 table A-1).
type syntax struct {
	name     string
	implicit bool // VR not in the file
	big      bool // big endian
	deflated bool
	native   bool // pixels uncompressed

	// decode reads a compressed frame; nil where no decoder does. The lossy syntaxes are
	// told by the codestream.
	decode func([]byte, codec.Size) ([]uint16, codec.Info, error)
}

const (
	implicitLittle = "1.2.840.10008.1.2"
	explicitLittle = "1.2.840.10008.1.2.1"
	explicitBig    = "1.2.840.10008.1.2.2"
)

var syntaxes = map[string]syntax{
	implicitLittle:           {name: "implicit little endian", implicit: true, native: true},
	explicitLittle:           {name: "explicit little endian", native: true},
	explicitBig:              {name: "explicit big endian", big: true, native: true},
	"1.2.840.10008.1.2.1.99": {name: "deflated explicit little endian", deflated: true, native: true},

	"1.2.840.10008.1.2.5":       {name: "RLE", decode: rle.Decode},
	"1.2.840.10008.1.2.4.50":    {name: "JPEG baseline (lossy, 8 bit)", decode: jpeg.Decode},
	"1.2.840.10008.1.2.4.51":    {name: "JPEG extended (lossy, 12 bit)", decode: jpeg.Decode},
	"1.2.840.10008.1.2.4.57":    {name: "lossless JPEG", decode: lossless.Decode},
	"1.2.840.10008.1.2.4.70":    {name: "lossless JPEG, first-order prediction", decode: lossless.Decode},
	"1.2.840.10008.1.2.4.80":    {name: "JPEG-LS lossless", decode: jpegls.Decode},
	"1.2.840.10008.1.2.4.81":    {name: "JPEG-LS near-lossless", decode: jpegls.Decode},
	"1.2.840.10008.1.2.4.90":    {name: "JPEG 2000 lossless", decode: jpeg2000.Decode},
	"1.2.840.10008.1.2.4.91":    {name: "JPEG 2000", decode: jpeg2000.Decode},
	"1.2.840.10008.1.2.4.92":    {name: "JPEG 2000 multi-component lossless"},
	"1.2.840.10008.1.2.4.93":    {name: "JPEG 2000 multi-component"},
	"1.2.840.10008.1.2.4.94":    {name: "JPIP referenced"},
	"1.2.840.10008.1.2.4.95":    {name: "JPIP referenced deflate"},
	"1.2.840.10008.1.2.4.100":   {name: "MPEG-2 video, main level"},
	"1.2.840.10008.1.2.4.101":   {name: "MPEG-2 video, high level"},
	"1.2.840.10008.1.2.4.102":   {name: "MPEG-4 video, high profile 4.1"},
	"1.2.840.10008.1.2.4.103":   {name: "MPEG-4 video, BD-compatible"},
	"1.2.840.10008.1.2.4.104":   {name: "MPEG-4 video, 4.2 for 2D"},
	"1.2.840.10008.1.2.4.105":   {name: "MPEG-4 video, 4.2 for 3D"},
	"1.2.840.10008.1.2.4.106":   {name: "MPEG-4 video, stereo"},
	"1.2.840.10008.1.2.4.107":   {name: "HEVC video, main profile"},
	"1.2.840.10008.1.2.4.108":   {name: "HEVC video, main 10 profile"},
	"1.2.840.10008.1.2.4.110":   {name: "JPEG XL lossless"},
	"1.2.840.10008.1.2.4.111":   {name: "JPEG XL recompressed JPEG"},
	"1.2.840.10008.1.2.4.112":   {name: "JPEG XL"},
	"1.2.840.10008.1.2.4.201":   {name: "high-throughput JPEG 2000 lossless", decode: jpeg2000.Decode},
	"1.2.840.10008.1.2.4.202":   {name: "high-throughput JPEG 2000 with RPCL lossless", decode: jpeg2000.Decode},
	"1.2.840.10008.1.2.4.203":   {name: "high-throughput JPEG 2000", decode: jpeg2000.Decode},
	"1.2.840.10008.1.2.4.204":   {name: "JPIP referenced high-throughput JPEG 2000"},
	"1.2.840.10008.1.2.4.205":   {name: "JPIP referenced high-throughput JPEG 2000 deflate"},
	"1.2.840.10008.1.2.8.1":     {name: "deflated image frames"},
	"1.2.840.10008.1.2.4.52":    {name: "JPEG extended, process 3 and 5 (retired)"},
	"1.2.840.10008.1.2.4.53":    {name: "JPEG spectral selection (retired)", decode: jpeg.Decode},
	"1.2.840.10008.1.2.4.55":    {name: "progressive JPEG (retired)", decode: jpeg.Decode},
	"1.2.840.10008.1.2.4.58":    {name: "lossless JPEG, process 15 (retired)"},
	"1.2.840.10008.1.2.7.1":     {name: "SMPTE ST 2110-20 video"},
	"1.2.840.10008.1.2.7.2":     {name: "SMPTE ST 2110-20 interlaced video"},
	"1.2.840.10008.1.2.7.3":     {name: "SMPTE ST 2110-30 audio"},
	"1.2.840.10008.1.2.4.102.1": {name: "fragmentable MPEG-4 video, high profile 4.1"},
}

// SyntaxName returns a transfer syntax in words, or the UID itself where it is unknown.
func SyntaxName(uid string) string {
	if s, ok := syntaxes[uid]; ok {
		return s.name
	}
	return uid
}

// refuse says what a film in a compressed or unknown syntax is and what to do.
func refuse(uid string) error {
	s, ok := syntaxes[uid]
	switch {
	case !ok:
		return unsupported("read.syntax-unknown", "unknown transfer syntax %s; export the film uncompressed (explicit little endian)", "Syntax", printable(uid))
	case strings.HasPrefix(s.name, "JPIP"):
		return unsupported("read.syntax-server", "%s: the picture is not in the file but on a server; export the film uncompressed", "Syntax", s.name)
	case strings.Contains(s.name, "video") || strings.Contains(s.name, "audio"):
		return unsupported("read.syntax-moving", "%s, not a still film", "Syntax", s.name)
	}
	return unsupported("read.syntax", "compressed with %s; export the film uncompressed (explicit little endian)", "Syntax", s.name)
}
