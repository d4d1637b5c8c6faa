package jpeg2000

import (
	"encoding/binary"

	"linerwatch/dicomio/codec"
)

const (
	maxLevels = 32
	maxPlanes = 30      // bit-planes of a code-block that fit the arithmetic
	maxBlock  = 1 << 12 // coefficients of a code-block (Table A.18)
	maxRegion = 37      // Mb at most (E.2): what a region of interest need not be shifted beyond
)

// Progression orders (Table A.16).
const (
	layerFirst      = iota // LRCP
	resolutionFirst        // RLCP
	resolutionPlace        // RPCL
	placeFirst             // PCRL
	componentFirst         // CPRL
)

// mode is a set of code-block styles (Table A.19).
type mode byte

const (
	bypass         mode = 1 << iota // raw bits in lower planes
	resetContexts                   // after each pass
	terminateAll                    // after each pass
	verticalCausal                  // no look below the stripe
	predictable                     // termination, of no concern here
	segmentSymbols                  // at the end of each plane
	highThroughput                  // coded as T.814 has it
	mixed                           // some so, some not
)

// coding is the coding style and quantization of a tile (A.6.1, A.6.4).
type coding struct {
	sop, eph    bool // packet markers
	progression int
	layers      int
	levels      int // of decomposition
	blockWidth  int // log2
	blockHeight int
	modes       mode
	reversible  bool
	precincts   []byte // log2 of height << 4 | width for each resolution; none means 15 and 15

	region int // bit-planes by which a region of interest is shifted up (H.1)

	quantization int // 0 none, 1 derived, 2 expounded
	guard        int
	steps        []step

	haveStyle, haveSteps bool // as said for all components
	ownStyle, ownSteps   bool // as said for this component, which then stands
}

// step is the exponent and mantissa of a band's quantization (E.1).
type step struct{ exponent, mantissa int }

func (c *coding) complete() bool { return c.haveStyle && c.haveSteps }

// segment takes one segment of a header.
func (c *coding) segment(marker int, body []byte) error {
	switch marker {
	case mCOD:
		return c.readStyle(body)
	case mCOC:
		if len(body) < 7 || body[0] != 0 {
			return codec.Malformed("codec.component-style", "coding style of a component of %d bytes", "Bytes", len(body))
		}
		c.ownStyle = true
		return c.readTransform(body[2:], body[1]&1 != 0)
	case mQCD:
		c.haveSteps = true
		if c.ownSteps {
			return nil
		}
		return c.readSteps(body)
	case mQCC:
		if len(body) < 2 || body[0] != 0 {
			return codec.Malformed("codec.component-quantization", "quantization of a component of %d bytes", "Bytes", len(body))
		}
		c.ownSteps = true
		return c.readSteps(body[1:])
	case mRGN:
		return c.readRegion(body)
	case mPOC:
		return codec.Unsupported("codec.order-change", "progression order change")
	case mPPM, mPPT:
		return codec.Unsupported("codec.packed", "packed packet headers")
	case mCAP:
		return readCapabilities(body)
	case mTLM, mPLM, mPLT, mCRG, mCOM, mCPF:
		return nil
	}
	return codec.Malformed("codec.header-marker", "marker %s in a header", "Marker", codec.Hex(marker, 4))
}

// readStyle reads a COD segment.
func (c *coding) readStyle(body []byte) error {
	if len(body) < 10 {
		return codec.Malformed("codec.style", "coding style of %d bytes", "Bytes", len(body))
	}
	c.haveStyle = true
	c.sop, c.eph = body[0]&2 != 0, body[0]&4 != 0
	c.progression, c.layers = int(body[1]), int(binary.BigEndian.Uint16(body[2:]))
	switch {
	case c.progression > componentFirst:
		return codec.Malformed("codec.order", "progression order %d", "N", c.progression)
	case c.layers == 0:
		return codec.Malformed("codec.no-layer", "no quality layer")
	case body[4] != 0:
		return codec.Malformed("codec.transform", "component transform of one component")
	case c.ownStyle:
		return nil
	}
	return c.readTransform(body[5:], body[0]&1 != 0)
}

// readTransform reads the parameters that COD and COC share (Table A.20).
func (c *coding) readTransform(body []byte, ownPrecincts bool) error {
	c.levels, c.blockWidth, c.blockHeight = int(body[0]), int(body[1])+2, int(body[2])+2
	c.modes, c.reversible, c.precincts = mode(body[3]), body[4] == 1, nil
	switch {
	case c.levels > maxLevels:
		return codec.Malformed("codec.levels", "%d decomposition levels", "N", c.levels)
	case c.blockWidth > 10 || c.blockHeight > 10 || c.blockWidth+c.blockHeight > 12:
		return codec.Malformed("codec.blocks", "code-blocks of 2^%d x 2^%d", "Width", c.blockWidth, "Height", c.blockHeight)
	case c.modes&mixed != 0:
		return codec.Unsupported("codec.mixed", "code-blocks of which some are high-throughput")
	case c.modes&highThroughput != 0 && c.modes&^(highThroughput|verticalCausal) != 0:
		return codec.Malformed("codec.fast-style", "high-throughput code-blocks of style %s", "Style", codec.Hex(byte(c.modes), 2))
	case body[4] > 1:
		return codec.Unsupported("codec.wavelet", "wavelet transform %d", "N", body[4])
	}
	if !ownPrecincts {
		return nil
	}
	if len(body) < 6+c.levels {
		return codec.Malformed("codec.precincts-cut", "precinct sizes are cut")
	}
	c.precincts = body[5 : 6+c.levels]
	for r, p := range c.precincts {
		if r > 0 && (p&15 == 0 || p>>4 == 0) {
			return codec.Malformed("codec.precinct", "precinct of 2^%d x 2^%d", "Width", p&15, "Height", p>>4)
		}
	}
	return nil
}

// readCapabilities reads a CAP segment (T.814 A.3): of the parts of ISO/IEC 15444
// whose capabilities a codestream may need, the 15th is read.
func readCapabilities(body []byte) error {
	if len(body) < 4 {
		return codec.Malformed("codec.capabilities", "capabilities of %d bytes", "Bytes", len(body))
	}
	if others := binary.BigEndian.Uint32(body) &^ (1 << (32 - 15)); others != 0 {
		return codec.Unsupported("codec.extended", "capabilities of other parts of JPEG 2000 (%s)", "Bits", codec.Hex(int(others), 8))
	}
	return nil
}

// readRegion reads an RGN segment (A.6.3).
func (c *coding) readRegion(body []byte) error {
	switch {
	case len(body) != 3 || body[0] != 0:
		return codec.Malformed("codec.region-bytes", "region of interest of %d bytes", "Bytes", len(body))
	case body[1] != 0 || body[2] > maxRegion:
		return codec.Unsupported("codec.region", "region of interest of style %d, shifted by %d", "Style", body[1], "Shift", body[2])
	}
	c.region = int(body[2])
	return nil
}

// precinct is the log2 of the width and height of a resolution's precincts.
func (c *coding) precinct(resolution int) (width, height int) {
	if c.precincts == nil {
		return 15, 15
	}
	return int(c.precincts[resolution] & 15), int(c.precincts[resolution] >> 4)
}

// readSteps reads the parameters that QCD and QCC share (Table A.27).
func (c *coding) readSteps(body []byte) error {
	if len(body) < 2 {
		return codec.Malformed("codec.quantization", "quantization of %d bytes", "Bytes", len(body))
	}
	c.quantization, c.guard = int(body[0]&31), int(body[0]>>5)
	c.steps = nil
	switch body = body[1:]; c.quantization {
	case 0:
		for _, b := range body {
			c.steps = append(c.steps, step{exponent: int(b >> 3)})
		}
	case 1, 2:
		for ; len(body) >= 2; body = body[2:] {
			v := int(binary.BigEndian.Uint16(body))
			c.steps = append(c.steps, step{v >> 11, v & 0x7FF})
		}
	default:
		return codec.Malformed("codec.quantization-style", "quantization style %d", "N", c.quantization)
	}
	if len(body) == 1 && c.quantization != 0 || len(c.steps) == 0 || len(c.steps) > 3*maxLevels+1 {
		return codec.Malformed("codec.steps", "quantization of %d steps", "N", len(c.steps))
	}
	return nil
}

// step is the quantization of a band: orientation 0 LL, 1 HL, 2 LH, 3 HH.
func (c *coding) step(resolution, orientation int) (step, error) {
	if c.quantization == 1 { // E.1.1: one step, for every band half the step of the next
		s := c.steps[0]
		s.exponent -= max(0, resolution-1)
		if s.exponent < 0 {
			return step{}, codec.Malformed("codec.derived", "derived quantization of %d levels", "N", c.levels)
		}
		return s, nil
	}
	i := 0
	if resolution > 0 {
		i = 3*(resolution-1) + orientation
	}
	if i >= len(c.steps) {
		return step{}, codec.Malformed("codec.steps-levels", "%d quantization steps for %d levels", "N", len(c.steps), "Levels", c.levels)
	}
	return c.steps[i], nil
}
