package session

import (
	"fmt"
	"strings"
)

// notice is what the reader was told last. It goes when it is true no longer: with the
// next step of the history, and with another film.
type notice struct {
	said     string
	baseline string // that movement is counted otherwise now
}

// Notice returns the last message for the reader, one line, or "".
func (s *Session) Notice() string {
	return strings.TrimSpace(s.notice.said + " " + s.notice.baseline)
}

// Say shows a message to the reader; "" clears it.
func (s *Session) Say(format string, args ...any) {
	s.notice.said = fmt.Sprintf(format, args...)
	s.changed(NoticeChanged)
}

// outdate takes back what was said, which what is done now may make untrue.
func (s *Session) outdate() {
	if s.notice.said != "" {
		s.Say("")
	}
}

// outdateAll takes back what was said of the baseline, too.
func (s *Session) outdateAll() {
	if s.notice != (notice{}) {
		s.notice = notice{}
		s.changed(NoticeChanged)
	}
}
