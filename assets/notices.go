package assets

import (
	_ "embed"
	"strings"
)

// Notices are the licences of what is linked into the program, as they have to go with it:
// acknowledgements, then each module with its texts. A test gathers them.
//
//go:embed notices.txt
var Notices string

// A Notice is what one module, or the program itself, asks to be told.
type Notice struct {
	Of       string // the module and its version
	Licences string // their short names as of SPDX, with commas
	Text     string
}

// noticeRule stands above the heading of each notice.
const noticeRule = "================================================================================\n"

// Acknowledged returns what stands before the notices of modules.
func Acknowledged() string {
	said, _, _ := strings.Cut(Notices, noticeRule)
	return strings.TrimSpace(said)
}

// AllNotices returns the notice of each module, in the order of their names.
func AllNotices() []Notice {
	var all []Notice
	for _, part := range strings.Split(Notices, noticeRule)[1:] {
		of, rest, _ := strings.Cut(part, "\n")
		licences, text, _ := strings.Cut(rest, "\n")
		all = append(all, Notice{of, licences, strings.TrimSpace(text)})
	}
	return all
}
