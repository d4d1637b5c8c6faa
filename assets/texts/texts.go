// Package texts holds the sentences of the program, one JSON file a language: a key, and
// a template (text/template, no functions but its own) of the sentence with named values.
// A value is a number (float64), which the template formats by printf, or a string: a code
// or a name. Codes of data, as in CSV, are never translated. printf writes the decimal mark
// of the language.
//
// English has every text. Another language has all of them, too, or what is printed for people
// (printed) and no more: pages on paper are in it then, and the program speaks English.
// What a sentence says follows the language; what a program reads, as CSV, JSON and DICOM, has
// its codes, and points in its numbers, in any.
package texts

import (
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"text/template"
)

// English is the language that has every text.
const English = "en"

// Files holds the languages of the program, each as CODE.json.
//
//go:embed *.json
var Files embed.FS

// Values are the named values of a sentence.
type Values = map[string]any

// Language is the sentences of one language by their keys.
type Language map[string]*sentence

// sentence is a text, of which a template is made when it is first said: a command says few
// of them, and making all takes longer than most commands do.
type sentence struct {
	key, text string
	mark      string // decimal mark
	once      sync.Once
	made      *template.Template
	err       error
}

func (s *sentence) template() (*template.Template, error) {
	s.once.Do(func() {
		s.made, s.err = template.New(s.key).Option("missingkey=error").Funcs(marked(s.mark)).Parse(s.text)
	})
	return s.made, s.err
}

// tongue is what the program speaks: a language with English behind it. Of which keys it
// fell back to English was told once.
type tongue struct {
	code string
	list []Language
	told sync.Map
}

// The languages of the program, what it speaks, and who is told where a language lacks a text.
var (
	languages = sync.OnceValue(func() map[string]Language { return must(Read(Files)) })
	spoken    atomic.Pointer[tongue]
	lacking   atomic.Pointer[func(language, key string)]
)

// Lacking has tell called once for each text that the language spoken lacks, or that wants a
// value which is not there, and which is said in English; nil for nobody. It is called from
// where the text is said.
func Lacking(tell func(language, key string)) {
	lacking.Store(&tell)
}

func must(all map[string]Language, err error) map[string]Language {
	if err != nil {
		panic(err) // the files are built into the program, and tested
	}
	return all
}

func (s *sentence) say(w io.Writer, v Values) error {
	t, err := s.template()
	if err != nil {
		return err
	}
	return t.Execute(w, v)
}

// Read reads the languages of a folder. It fails where a file is not JSON of strings; that a
// sentence is no template is told by Check, and when it is said.
func Read(files fs.FS) (map[string]Language, error) {
	names, err := fs.Glob(files, "*.json")
	if err != nil {
		return nil, err
	}
	all := map[string]Language{}
	for _, name := range names {
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		var sentences map[string]string
		if err := json.Unmarshal(data, &sentences); err != nil {
			return nil, fmt.Errorf("texts: %s: %w", name, err)
		}
		l := Language{}
		for key, text := range sentences {
			l[key] = &sentence{key: key, text: text, mark: sentences[markKey]}
		}
		all[strings.TrimSuffix(name, ".json")] = l
	}
	return all, nil
}

// Use has the program speak the first language that it has of those that are wanted, as "en",
// "en-GB" or "en_GB.UTF-8", and returns its code; English where it has none, as of "C", and for
// each text that the language lacks. A language that has no more than what is printed is not
// spoken.
func Use(wanted ...string) string { return speak(offered(languages()), wanted...) }

// Spoken returns the code of the language that the program speaks.
func Spoken() string {
	if t := spoken.Load(); t != nil {
		return t.code
	}
	return English
}

// baseOf is the language of a locale: "en" of "en_GB.UTF-8".
func baseOf(code string) string {
	base := strings.ToLower(code)
	if i := strings.IndexAny(base, "-_.@"); i >= 0 {
		base = base[:i]
	}
	return base
}

func speak(all map[string]Language, wanted ...string) string {
	for _, locale := range wanted {
		base := baseOf(locale)
		if base == English {
			break
		}
		if l, ok := all[base]; ok {
			spoken.Store(&tongue{code: base, list: []Language{l, all[English]}})
			return base
		}
	}
	spoken.Store(&tongue{code: English, list: []Language{all[English]}})
	return English
}

// Say returns the sentence of a key with its values; the key itself where there is no such
// sentence, or a value that it wants is not there.
func Say(key string, v Values) string {
	s, err := Try(key, v)
	if err != nil {
		return key
	}
	return s
}

// Try is Say; it fails where Say returns the key.
func Try(key string, v Values) (string, error) {
	return speaking().try(key, v)
}

// speaking is what the program speaks, English before Use.
func speaking() *tongue {
	if t := spoken.Load(); t != nil {
		return t
	}
	return &tongue{code: English, list: []Language{languages()[English]}}
}

func (s *tongue) try(key string, v Values) (string, error) {
	var fault error
	for i, l := range s.list {
		t, ok := l[key]
		if !ok {
			continue
		}
		var b strings.Builder
		err := t.say(&b, v)
		if err == nil && strings.Contains(b.String(), "%!") && !strings.Contains(fmt.Sprint(v), "%!") {
			err = fmt.Errorf("a value of %q is of another kind than it wants: %s", key, b.String())
		}
		if err == nil {
			if i > 0 {
				s.fellBack(key)
			}
			return b.String(), nil
		}
		fault = fmt.Errorf("texts: %w", err)
	}
	if fault == nil {
		fault = fmt.Errorf("texts: no text %q", key)
	}
	return "", fault
}

// fellBack tells once that a text is said in English.
func (s *tongue) fellBack(key string) {
	tell := lacking.Load()
	if tell == nil || *tell == nil {
		return
	}
	if _, was := s.told.LoadOrStore(key, true); !was {
		(*tell)(s.code, key)
	}
}

// Keys returns the keys of English, sorted.
func Keys() []string { return slices.Sorted(maps.Keys(languages()[English])) }
