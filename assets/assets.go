// Package assets holds the pictures that are built into the program. They were
// drawn for it and share its licence.
package assets

import _ "embed"

// Icon is the window's icon, SVG: a cup, and in it a head that has moved up.
//
//go:embed icon.svg
var Icon []byte
