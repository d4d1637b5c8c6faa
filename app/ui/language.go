package ui

import (
	"os"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"

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
