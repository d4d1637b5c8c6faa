package measure

// Side is the patient's side of a hip.
type Side int

// The sides. The zero value is unknown.
const (
	SideUnknown Side = iota
	Right
	Left
)

// ParseSide reads "right", "left", "R", "L" or "" (unknown).
func ParseSide(s string) (Side, error) {
	switch s {
	case "":
		return SideUnknown, nil
	case "right", "Right", "R", "r":
		return Right, nil
	case "left", "Left", "L", "l":
		return Left, nil
	}
	return SideUnknown, Fault("shape.side", Values{"Text": s})
}

// String returns "right", "left" or "".
func (s Side) String() string {
	switch s {
	case Right:
		return "right"
	case Left:
		return "left"
	}
	return ""
}

// Medial returns the direction of medial along image x on a film in the
// standard display (the patient's right at image left): +1 for a right hip, -1
// for a left hip, 0 where the side is unknown.
func (s Side) Medial() float64 {
	switch s {
	case Right:
		return 1
	case Left:
		return -1
	}
	return 0
}
