package assets

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "gather the notices anew")

// builds are those that are handed out: system, cgo, tag.
var builds = [][3]string{
	{"linux", "1", "migrated_fynedo"}, {"windows", "1", "migrated_fynedo"}, {"darwin", "1", "migrated_fynedo"},
	{"linux", "0", "headless"}, {"darwin", "0", "headless"}, {"windows", "0", "headless"},
}

// module is one that is linked: its name and version, and the folder of its source.
type module struct{ of, dir string }

// linked returns the program itself, then the modules of all builds and the Go distribution by name.
func linked(t *testing.T) []module {
	t.Helper()
	all := []module{{goVersion(t), goTold(t, nil, "env", "GOROOT")}}
	for _, b := range builds {
		env := []string{"GOOS=" + b[0], "CGO_ENABLED=" + b[1], "GOARCH=amd64"}
		list := goTold(t, env, "list", "-deps", "-tags", b[2], "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", "linerwatch/app")
		for line := range strings.Lines(list) {
			of, dir, _ := strings.Cut(strings.TrimSpace(line), "\t")
			if m := (module{of, dir}); of != "" && !slices.Contains(all, m) {
				all = append(all, m)
			}
		}
	}
	slices.SortFunc(all, func(a, b module) int { return strings.Compare(a.of, b.of) })
	return append([]module{{"Linerwatch", ".."}}, all...)
}

// goVersion names the Go that go.mod asks for, whose licence is that of any other.
func goVersion(t *testing.T) string {
	t.Helper()
	return "Go " + goTold(t, nil, "list", "-m", "-f", "{{.GoVersion}}")
}

func goTold(t *testing.T, env []string, args ...string) string {
	t.Helper()
	cmd := exec.Command("go", args...)
	cmd.Env = append(os.Environ(), env...)
	var fault bytes.Buffer
	cmd.Stderr = &fault
	out, err := cmd.Output()
	require.NoError(t, err, fault.String())
	return strings.TrimSpace(string(out))
}

var (
	// licenceFile is the form of names of files that hold a licence.
	licenceFile = regexp.MustCompile(`(?i)^((un)?licen[cs]e|copying|notice|patents|ofl|ftl)([-_.][^/]*)?$|-licen[cs]e$`)
	// codeFile holds something else by such a name.
	codeFile = regexp.MustCompile(`\.(go|c|h|s|sh|sql|xml|png|svg)$`)
)

// unlinked are folders of a module of which nothing reaches a program, or, those of the Go
// distribution, nothing under another licence.
var unlinked = []string{"testdata", "cmd", "examples", "src", "test", "misc", "doc"}

// elsewhere are licences of what reaches no program: files for tests, a picture.
var elsewhere = []string{"W3C-TestSuite-LICENSE", "LICENSE-LOGO"}

// licences returns the files of a module that hold its licences, those at its top first.
func licences(t *testing.T, dir string) (files []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch name := d.Name(); {
		case err != nil:
			return err
		case d.IsDir() && path != dir && (slices.Contains(unlinked, name) || strings.HasPrefix(name, ".")):
			return fs.SkipDir
		case d.IsDir() && path != dir && isModule(path):
			return fs.SkipDir
		case !d.IsDir() && licenceFile.MatchString(name) && !codeFile.MatchString(name) && !slices.Contains(elsewhere, name):
			files = append(files, path)
		}
		return nil
	}))
	slices.SortStableFunc(files, func(a, b string) int { return strings.Count(a, "/") - strings.Count(b, "/") })
	return files
}

func isModule(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, "go.mod"))
	return err == nil
}

// kinds are the licences under which something may be linked, each by words that it alone
// has. What none of them knows has to be read by somebody before it is handed on.
var kinds = []struct {
	name  string
	words *regexp.Regexp
}{
	{"Apache-2.0", said(`Apache License,? Version 2\.0`)},
	{"BSL-1.0", said(`Boost Software License - Version 1\.0`)},
	{"Bitstream-Vera", said(`Bitstream Vera is a trademark`)},
	{"BSD-3-Clause", said(`Redistributions? in binary form must reproduce .*(Neither (the|my) names? |names of (its|any) contributors may not )`)},
	{"BSD-2-Clause", said(`Redistributions in binary form must reproduce`)},
	{"CC-BY-4.0", said(`Creative Commons Attribution 4\.0`)},
	{"FTL", said(`The FreeType (License|Project LICENSE)`)},
	{"ISC", said(`Permission to use, copy, modify,? and(/or)? distribute this software for any purpose`)},
	{"MIT", said(`Permission is hereby granted, free of charge, to any person obtaining a copy of this software`)},
	{"MPL-2.0", said(`Mozilla Public License,? Version 2\.0`)},
	{"OFL-1.1", said(`SIL OPEN FONT LICENSE Version 1\.1`)},
	{"Unlicense", said(`This is free and unencumbered software released into the public domain`)},
	{"Zlib", said(`provided 'as-is', without any express or implied warranty.* Altered source versions must be plainly marked`)},
	{"public domain", said(`dedicated to the public domain|The author disclaims copyright to this source code|in the public domain`)},
	{"Bogaert", said(`Copyright \(C\) 2014 by Ignace Bogaert.*THIS SOFTWARE IS PROVIDED "AS IS"`)},
	{"SunPro", said(`software is freely granted, provided that this notice is preserved`)},
	{"patent grant of Go", said(`"This implementation" means the copyrightable works distributed by Google`)},
	{"colour profile", said(`made available by the International Color Consortium, and may be copied, distributed, embedded`)},
}

func said(words string) *regexp.Regexp {
	return regexp.MustCompile(`(?is)` + words)
}

// kindOf names the licences that a text holds; a text of three clauses is not of two.
func kindOf(text string) (names []string) {
	flat := strings.Join(strings.Fields(text), " ")
	for _, k := range kinds {
		if k.words.MatchString(flat) && !(k.name == "BSD-2-Clause" && slices.Contains(names, "BSD-3-Clause")) {
			names = append(names, k.name)
		}
	}
	return names
}

// gnu is a licence that the program could not be under as a whole; choices are the modules that
// let one take another in its place.
var (
	gnu     = said(`GNU (Lesser |Library |Affero )?General Public`)
	choices = []string{"github.com/golang/freetype "}
)

// notice returns what stands in the file for a module; a text that stands there already, as told
// holds, is pointed to. It fails where there is no licence, or one that nobody has read.
func notice(t *testing.T, m module, told map[string]string) string {
	t.Helper()
	var names []string
	var texts strings.Builder
	for _, path := range licences(t, m.dir) {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		of := kindOf(string(text))
		name, err := filepath.Rel(m.dir, path)
		require.NoError(t, err)
		assert.NotEmpty(t, of, "%s: %s: a licence that is not known:\n%s", m.of, name, text)
		chosen := slices.ContainsFunc(choices, func(c string) bool { return strings.HasPrefix(m.of, c) })
		assert.False(t, gnu.MatchString(string(text)) && !chosen && !slices.Contains(of, "MPL-2.0"), "%s: %s names the GNU licence", m.of, name)
		names = append(names, of...)
		words, at := strings.TrimSpace(plainly(text)), filepath.ToSlash(name)
		if same, ok := told[words]; ok {
			words = "The same as " + same + "."
		} else {
			told[words] = at + " of " + m.of
		}
		fmt.Fprintf(&texts, "\n--- %s\n\n%s\n", at, words)
	}
	assert.NotEmpty(t, names, "%s has no licence", m.of)
	slices.Sort(names)
	return fmt.Sprintf("%s%s\n%s\n%s", noticeRule, m.of, strings.Join(slices.Compact(names), ", "), texts.String())
}

// plainly is a text with one kind of line end, and no mark of its encoding.
func plainly(text []byte) string {
	return strings.ReplaceAll(strings.TrimPrefix(string(text), "\ufeff"), "\r\n", "\n")
}

// acknowledged are words that stand before all notices, since no file of a module has them.
const acknowledged = `Linerwatch is under the BSD 3-Clause licence. Linked into it is the work of others,
each under its own licence, as told below module by module. Not every program of
a release holds all of them: those without the window lack what draws it.

Portions of this software are copyright (c) The FreeType Project
(https://www.freetype.org). All rights reserved. They are used under the FreeType
License, by github.com/golang/freetype.

Emoji (EmojiOneColor.otf): art supplied by EmojiOne, http://emojione.com, under
the Creative Commons Attribution 4.0 International licence,
https://creativecommons.org/licenses/by/4.0/; font by Adobe Systems.

github.com/ajstarks/svgo, by Anthony Starks, is used unchanged under the Creative
Commons Attribution 4.0 International licence.

Letters of the window: Noto Sans (NotoSans-Regular.ttf, -Bold, -Italic,
-BoldItalic) and Inter (InterSymbols-Regular.ttf), SIL Open Font License 1.1;
DejaVu Sans Mono (DejaVuSansMono-Powerline.ttf). Letters of pages and figures:
DejaVu Sans Condensed (DejaVuSansCondensed.ttf, -Bold) and Liberation
(LiberationSans, LiberationSerif, LiberationMono), SIL Open Font License 1.1.

Modules under the Mozilla Public License 2.0 are used unchanged. Their source is
what the Go command fetches by the name and version below:
    go mod download MODULE@VERSION
`

// TestNoticesAreThoseOfWhatIsLinked fails for a module that is not in the notices, in another
// version, without a licence, or with one that nobody has read.
func TestNoticesAreThoseOfWhatIsLinked(t *testing.T) {
	var all strings.Builder
	all.WriteString(acknowledged)
	told := map[string]string{}
	for _, m := range linked(t) {
		all.WriteString("\n" + notice(t, m, told))
	}
	if *update {
		require.NoError(t, os.WriteFile("notices.txt", []byte(all.String()), 0o644))
		return
	}
	require.True(t, all.String() == Notices, "stale: go test ./assets -run Notices -update")
}

// TestFontsAreAcknowledged fails for a font built into the program that the notices do not name.
func TestFontsAreAcknowledged(t *testing.T) {
	list := goTold(t, nil, "list", "-deps", "-f", `{{range .EmbedFiles}}{{.}}{{"\n"}}{{end}}`, "linerwatch/app")
	fonts := regexp.MustCompile(`(?m)[^/\n]*\.[ot]tf$`).FindAllString(list, -1)
	require.NotEmpty(t, fonts)
	for _, font := range fonts {
		family, _, _ := strings.Cut(font, "-")
		require.Contains(t, Acknowledged(), family)
	}
}

func TestNoticesAreToldApart(t *testing.T) {
	all := AllNotices()
	at := slices.IndexFunc(all, func(n Notice) bool { return strings.HasPrefix(n.Of, "github.com/golang/freetype ") })
	require.Positive(t, at)
	require.Equal(t, "FTL", all[at].Licences)
	require.Contains(t, all[at].Text, "Use of the Freetype-Go software is subject to your choice")
	for _, n := range all {
		require.NotEmpty(t, n.Licences, n.Of)
		require.NotContains(t, n.Text, "=====================================", n.Of)
	}
}

// A licence that nobody has read is none of those that are known.
func TestLicencesAreKnownByTheirWords(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"nothing":    {"", nil},
		"sold alone": {"This software is licensed, not sold. You may use it for evaluation.", nil},
		"GNU":        {"GNU GENERAL PUBLIC LICENSE\nVersion 3, 29 June 2007", nil},
		"two":        {"Redistributions in binary form must reproduce the above copyright\nnotice", []string{"BSD-2-Clause"}},
		"three":      {"Redistributions in binary form must reproduce the notice.\n Neither the\nname of", []string{"BSD-3-Clause"}},
		"zlib":       {"provided 'as-is', without any express or implied\nwarranty. 2. Altered source versions must be plainly marked", []string{"Zlib"}},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, c.want, kindOf(c.text)) })
	}
	require.True(t, gnu.MatchString("GNU LESSER GENERAL PUBLIC LICENSE"))
}
