package assets

import "embed"

// Help holds the pages of the help of the command line: help/LANGUAGE/NAME.txt, where NAME
// is a command, a part of one's page, or a topic. Pages are templates (text/template).
//
//go:embed help
var Help embed.FS
