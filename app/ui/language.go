package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"

	"linerwatch/assets/texts"
)

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
