// Package assets holds the pictures and pages that are built into the program. They were
// made for it and share its licence.
package assets

import _ "embed"

// Icon is the window's icon, PNG of 256 x 256: a cup, and in it a head that has
// moved up. It is icon.svg drawn at that size, which at each start would take longer
// than all else that is shown first.
//
//go:embed icon.png
var Icon []byte
