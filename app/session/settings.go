package session

import (
	"errors"
	"strings"

	"linerwatch/app/settings"
	"linerwatch/app/study"
)

// recentLength is how many study files are remembered.
const recentLength = 6

// remember saves the settings as they are now.
func (s *Session) remember() error { return s.settings.Save(s.cfg.SettingsPath) }

// Language is the code of the language that the reader has chosen for the program, "" where
// the system's is taken.
func (s *Session) Language() string { return s.settings.Language }

// SetLanguage remembers the language of the program; "" takes the system's.
func (s *Session) SetLanguage(code string) error {
	s.settings.Language = code
	return s.remember()
}

// Print returns how pages were printed last.
func (s *Session) Print() settings.Print { return s.settings.Print }

// SetPrint remembers how pages are printed.
func (s *Session) SetPrint(p settings.Print) error {
	if s.settings.Print == p {
		return nil
	}
	s.settings.Print = p
	return s.remember()
}

// Light reports whether the window is light, for a bright room.
func (s *Session) Light() bool { return s.settings.Light }

// SetLight remembers whether the window is light.
func (s *Session) SetLight(on bool) error {
	s.settings.Light = on
	return s.remember()
}

// Reader returns the reader's code, or "".
func (s *Session) Reader() string { return s.settings.Reader }

// SetReader takes the reader's code: one to twelve letters, digits, dots or
// hyphens.
func (s *Session) SetReader(code string) error {
	code = strings.TrimSpace(code)
	if study.ReaderFault(code) {
		return study.NewError("settings.reader", nil)
	}
	if code != s.settings.Reader {
		s.book.looked = nil
	}
	s.settings.Reader = code
	s.changed(StudyChanged)
	if s.book.gradesFirst { // each reader grades
		s.course.renew()
	}
	return errors.Join(s.remember(), s.book.cover())
}
