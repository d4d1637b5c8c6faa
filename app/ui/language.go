package ui

import (
	"errors"
	"os"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"

	"linerwatch/app/session"
	"linerwatch/assets/texts"
)

// SystemLanguage is the language of the system where it tells that otherwise than by the
// environment, as Windows and macOS do.
func SystemLanguage() string { return lang.SystemLocale().LanguageString() }

// speakToo has the toolkit say its own words in the language that the program speaks. On Windows
// and macOS they stay in that of the system.
func speakToo() error {
	// Not LC_ALL: the C library reads that, and knows no locale of a bare code.
	if err := os.Setenv("LANGUAGE", texts.Spoken()); err != nil {
		return err
	}
	return addTexts() // upon which the toolkit looks for its language anew
}

// languages is the menu of the languages that the program speaks, under the code of the one
// that it does.
func (w *window) languages() fyne.CanvasObject {
	return menuButton(w, strings.ToUpper(texts.Spoken()), func() (items []*fyne.MenuItem) {
		for _, code := range texts.Offered() {
			item := fyne.NewMenuItem(languageName(code), func() { w.speak(code) })
			item.Checked = code == texts.Spoken()
			items = append(items, item)
		}
		return items
	})
}

// speak has the program speak a language from now on, and remembers it.
func (w *window) speak(code string) {
	if w.pages == nil {
		return // the first screen is still being made
	}
	texts.Use(code)
	err := errors.Join(w.s.SetLanguage(code), speakToo())
	w.kinds = pageKinds()
	w.anew()
	w.told(err)
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
// printed, else that which the program speaks.
func pageLanguage(s *session.Session) string {
	if own, ok := texts.In(s.Print().Language); ok {
		return own.Code()
	}
	return texts.Spoken()
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
