package ui

import (
	"os"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"

	"linerwatch/app/session"
	"linerwatch/assets/texts"
)

// speak has the program say everything in the language of the system, in English where it
// has none of that, and the toolkit its own words in the same. Where the system tells its
// language otherwise than by the environment, as Windows and macOS do, the toolkit's words
// stay in that language.
func speak() error {
	code := texts.Use(lang.SystemLocale().LanguageString())
	// Not LC_ALL: the C library reads that, and knows no locale of a bare code.
	if err := os.Setenv("LANGUAGE", code); err != nil {
		return err
	}
	return addTexts() // upon which the toolkit looks for its language anew
}

// addTexts gives the toolkit the program's sentences, in the languages that there are.
func addTexts() error {
	files, err := texts.Files.ReadDir(".")
	if err != nil {
		return err
	}
	for _, f := range files {
		data, err := texts.Files.ReadFile(f.Name())
		if err != nil {
			return err
		}
		if err := lang.AddTranslations(fyne.NewStaticResource(f.Name(), data)); err != nil {
			return err
		}
	}
	return nil
}

// pageLanguage is the language of pages until another is chosen: that of the last one that was
// printed, that of the system where pages are in it, English else.
func pageLanguage(s *session.Session) string {
	for _, code := range []string{s.Print().Language, lang.SystemLocale().LanguageString()} {
		if own, ok := texts.In(code); ok {
			return own.Code()
		}
	}
	return texts.English
}

// speechOf is the speech of a code, which is that of a language that there is.
func speechOf(code string) texts.Speech {
	own, ok := texts.In(code)
	if !ok {
		own, _ = texts.In(texts.English)
	}
	return own
}

// languageName is a language's name in itself.
func languageName(code string) string { return speechOf(code).Say("language.name", nil) }
