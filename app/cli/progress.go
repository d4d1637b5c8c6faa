package cli

import "fmt"

// progress returns a function that shows how much is done on one line of the
// terminal, and one that clears the line; the first is nil where stderr is none.
func (c *call) progress(what string) (show func(done, total int), clear func()) {
	if !c.Progress {
		return nil, func() {}
	}
	show = func(done, total int) {
		_, _ = fmt.Fprintf(c.Stderr, "\r%s %s\x1b[K", what, say("cli.done-of", "N", done, "Of", total))
	}
	return show, func() { _, _ = fmt.Fprint(c.Stderr, "\r\x1b[K") }
}
