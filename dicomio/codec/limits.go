package codec

// What one film may cost, so that a small file cannot take hours or all memory.
const (
	// MaxSide is the largest number of rows or columns, DICOM's (0028,0010) and
	// (0028,0011) being 16-bit.
	MaxSide = 65535

	// MaxPixels bounds one frame: a film of 430 x 350 mm scanned at 0.035 mm, finer
	// than any film is drawn, has 123 million. The largest flat detector, 430 x 430 mm
	// at 0.1 mm, has 18 million, three of them stitched to a whole leg 55 million.
	MaxPixels = 1 << 27

	// MaxFrames bounds one file: half a minute of fluoroscopy at 30 frames a second
	// has 900 (common practice, no source).
	MaxFrames = 1024

	// MaxScans bounds a progressive JPEG: its DC coefficients and two bands of AC ones
	// sent bit by bit, from the highest position of ITU-T T.81 Table B.3, 13, down to 0.
	// The usual script for one component has 6.
	MaxScans = 3 * 14
)
